import { readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import Ajv2020 from 'ajv/dist/2020';
import { describe, expect, it } from 'vitest';
import { flowJson } from '../../server/core/report/flow-json';
import { flowTable } from '../../server/core/report/flow-table';
import { look } from '../checks/rigs';

const ROOT = resolve(__dirname, '..', '..');
const schema = JSON.parse(readFileSync(resolve(ROOT, 'server/core/report/flow.schema.json'), 'utf8')) as object;
const validate = new Ajv2020({ allowUnionTypes: true }).compile(schema);
const files = ['samples', 'samples/broken'].flatMap((folder) =>
  readdirSync(resolve(ROOT, folder))
    .filter((f) => f.endsWith('.rig'))
    .map((f) => `${folder}/${f}`),
);
const factsOf = (file: string) => look(readFileSync(resolve(ROOT, file), 'utf8')).contexts.map((c) => c.facts);

describe('caisson flow', () => {
  it.each(files)('%s: JSON keeps its shape, the table has no empty figure', (file) => {
    const all = factsOf(file);
    const plain: unknown = JSON.parse(JSON.stringify({ rigs: all.map(flowJson) }));
    expect(validate(plain), JSON.stringify(validate.errors)).toBe(true);
    expect(all.map((f) => flowTable(f).join('\n')).join('\n')).not.toMatch(/NaN|undefined|Infinity|\[object/);
  });

  it('reads like this', () => {
    const text = flowTable(factsOf('samples/digester_bank.rig')[0]).join('\n');
    // R = 8.314462618/0.0272 J/(kg K), 308.15 K: 1.02 bar are 1.0829 kg/m3; at 1.5 bar a stroke takes 0.25 m3 of 1.468 kg/m3 (the
    // receiver has 6.51 m3 with the pockets open) and leaves 0.01 m3 behind.
    expect(text).toContain('  receiver    6 m3  6.497 kg  1.083 kg/m3  1.02 bar');
    expect(text).toContain('One stroke, started by ready, every 16.04 s:');
    // The openings are 300 mm: the upper door squeezes part of its pocket into the middle one, so more than 0.3712 kg.
    expect(text).toMatch(/receiver {2}store {2}0\.2762 kg {3}0\.4103 kg/);
    expect(text).toContain('held there by the condition of digester (only below 1.8 bar); strokes carry all of it');
    expect(text).toContain('Stored pressure and powered doors can injure and kill.');
  });

  it('says of strokes through a path straight through that they bring gas back, not that they take less than nothing', () => {
    const booster = `rig booster {
      medium nitrogen
      chamber header { volume 3 m3   pressure 1.2 bar }
      chamber flask  { volume 400 L  pressure 2 bar }
      door a { pocket 12 L  clearance 0.4 L  bore 60 mm  travel 300 ms }
      door b { pocket 12 L  clearance 0.4 L  bore 60 mm  travel 300 ms }
      stack header > a > b > flask
      feed line into header { rate 12 g/s  only below 1.9 bar }
      sensor ready on header { pressure above 1.5 bar  clears below 1.3 bar }
      signal start = ready and not hold
      signal hold  = TOF(a_on, 9 s)
      signal a_on  = TP(start, 1.4 s)
      drive a = a_on
      drive b = TP(TON(a_on, 1.2 s), 1.6 s)
    }`;
    const said = flowTable(look(booster).contexts[0]!.facts).join('\n');
    expect(said).toMatch(
      /header gets 12 g\/s while its feed runs; strokes bring [\d.]+ m?g\/s back to it at the trigger\./,
    );
    expect(said).toContain('However short the interval, strokes do not carry what the feed brings.');
    expect(said).not.toContain('take -');
  });

  it('says of each figure of the JSON how it was obtained', () => {
    const { strokes, filling } = flowJson(factsOf('samples/digester_bank.rig')[0]);
    expect(filling!.obtained).toBe('followed');
    expect(strokes[0]).toMatchObject({ obtained: 'openings', energy: { obtained: 'followed' } });
    expect(strokes[0]!.keepUp!.obtained).toEqual({ capacity: 'openings', keeps: 'followed' });
  });

  it('says plainly where nothing is computed', () => {
    expect(flowTable(factsOf('samples/broken/flow-value.rig')[0]).join('\n')).toContain('Flow is not computed.');
    const none = look('rig r {\n  chamber a { volume 1 m3 }\n}\n').contexts[0].facts;
    expect(flowTable(none).join('\n')).toContain('This rig moves no medium');
  });

  const cider = (tank: string) => `rig cider {
  medium water
  chamber vat   { volume 400 L  mass 200 kg }
  chamber south { volume 300 L  mass 100 kg }
  chamber tank  { volume 60 L   pressure 1 bar  ${tank}  limit 6 bar }
  door a { pocket 5 L  travel 300 ms  bore 60 mm }
  door b { pocket 5 L  travel 300 ms  bore 60 mm }
  door c { pocket 5 L  travel 300 ms  bore 60 mm }
  door d { pocket 5 L  travel 300 ms  bore 60 mm }
  stack vat > a > b > c > tank
  stack south > d > tank
  feed spring into vat { rate 20 L/min }
  switch run = on
  sensor high on vat { mass above 210 kg  clears below 190 kg }
  signal go = run and high and not hold
  signal one = TOF(go, 1 s)
  signal two = TOF(go, 1.9 s)
  signal hold = TOF(one, 6 s)
  drive a = one
  drive b = two
  drive c = TOF(TON(two, 1.6 s), 900 ms)
  drive d = off
}
`;
  const read = (text: string): string => flowTable(look(text).contexts[0].facts).join('\n');

  it('gives no figure of a stroke into a vessel that is full to the brim', () => {
    // 5 L pressed into 60 L of water: about 2.2 GPa * 5/60 = 180 MPa.
    expect(read(cider(''))).toContain('started by high: not computed: tank: water would stand above 100 MPa');
    const text = read(cider('mass 10 kg'));
    expect(text).toMatch(/vat {3}tank {2}\d/);
    expect(text).not.toContain('Work of a stroke with the store at its limit');
    expect(text).toContain('they keep up');
  });

  it('says a thing once, and gives each row of the followed run once', () => {
    for (const text of [read(cider('mass 10 kg')), ...files.map((file) => flowTable(factsOf(file)[0]).join('\n'))]) {
      const notes = text.split('\n').filter((line) => line.startsWith('  Ceiling of'));
      expect(new Set(notes).size).toBe(notes.length);
      const table = text.split('followed stroke by stroke:\n\n')[1]?.split('\n\n')[0]?.split('\n') ?? [];
      expect(new Set(table).size).toBe(table.length);
    }
  });
});
