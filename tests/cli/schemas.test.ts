/** The JSON of every command keeps to its schema; that of check, timing and flow over every sample, the broken ones too. The schemas are in the package. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Ajv2020 from 'ajv/dist/2020';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../server/cli/main';
import { ROOT, run } from './run';

const FOLDER = 'server/core/report';
const samples = ['.', 'poor', 'refuted', 'broken'].flatMap((folder) =>
  readdirSync(join(ROOT, 'samples', folder))
    .filter((name) => name.endsWith('.rig') && name !== 'value-too-large.rig')
    .map((name) => join('samples', folder, name)),
);
const sound = samples.filter((path) => !path.includes('broken'));

const BANK = 'samples/digester_bank.rig';
const LOCK = 'samples/quay_lock.rig';
const POOR = 'samples/poor/harbour_lift.rig';
const LOGS = readdirSync(join(ROOT, 'samples/logs')).filter((name) => name.startsWith('digester'));
const logged = (command: readonly string[]): string[][] => LOGS.map((log) => [...command, BANK, `samples/logs/${log}`]);

/** Schema → command lines whose output keeps to it. */
const KEPT: Readonly<Record<string, readonly (readonly string[])[]>> = {
  check: samples.map((path) => ['check', '--format', 'json', '--show-fixes', path]),
  timing: sound.map((path) => ['timing', '--json', path]),
  flow: sound.map((path) => ['flow', '--json', path]),
  ask: [
    ['ask', '--json', BANK, 'repeat()', 'repeat() <= 18 s', 'repeat() <= 1 s', 'ceiling(store)', 'ceiling(receiver)'],
    ['ask', '--json', BANK, 'peak(store)', 'final(store)', 'lowest(receiver)'],
    ['ask', '--json', LOCK, 'never(dock_door and hall_door)', 'gap(dock_door, hall_door)', 'stroke_mass(hall)'],
  ],
  compare: logged(['compare', '--json']),
  diagnose: logged(['diagnose', '--json']),
  diff: [
    ['diff', '--json', POOR, 'samples/harbour_lift_tuned.rig'],
    ['diff', '--json', BANK, BANK],
  ],
  explore: [['explore', POOR, '--vary', 'fill=800 ms..1 s/100 ms', '--measure', 'least repeat()', '--workers', '1']],
  faults: [
    ['faults', '--json', LOCK],
    ['faults', '--json', BANK],
  ],
  fit: logged(['fit', '--json']),
  'flow-scenario': [['flow', '--json', BANK, '--scenario', 'morning']],
  prove: sound
    .slice(0, 3)
    .map((path) => ['prove', '--json', path])
    .concat([['prove', '--json', 'samples/refuted/dropped_sensor.rig']]),
  size: [
    ['size', '--json', BANK, '--target', 'store 6 bar in 20 min'],
    ['size', '--json', BANK, '--target', 'store 6 bar in 1 s'],
  ],
  tolerance: [
    ['tolerance', '--json', LOCK, '--samples', '50'],
    ['tolerance', '--json', BANK, '--samples', '50'],
  ],
  trace: [
    ['trace', '--json', LOCK],
    ['trace', '--json', BANK, '--until', '30 s'],
  ],
  tune: [['tune', '--json', POOR]],
};

describe.each(Object.entries(KEPT))('%s.schema.json', (name, lines) => {
  const schema = JSON.parse(readFileSync(join(ROOT, FOLDER, `${name}.schema.json`), 'utf8')) as object;
  const ajv = new Ajv2020({ allowUnionTypes: true });

  it('is a schema that wants something', () => {
    expect(ajv.validateSchema(schema)).toBe(true);
    expect(ajv.validate(schema, {})).toBe(false);
  });

  it.each(lines.map((words) => [words.join(' '), words] as const))(
    'holds for %s',
    { timeout: 180_000 },
    async (_, words) => {
      const { out } = await run(words);
      const objects = name === 'explore' ? out.trim().split('\n') : [out];
      for (const text of objects) {
        ajv.validate(schema, JSON.parse(text));
        expect(ajv.errors ?? []).toEqual([]);
      }
    },
  );
});

it('every command that answers in JSON has a schema', () => {
  const answers = COMMANDS.filter(
    ({ options, choices }) => 'json' in options || (choices?.['format'] ?? []).includes('json'),
  ).map((c) => c.name);
  const kept = Object.values(KEPT).map(([line]) => line![0]!);
  expect(answers.filter((name) => !kept.includes(name))).toEqual([]);
  expect(answers.length).toBeGreaterThan(10);
});

it('the package has the schemas, and no other lies beside them', () => {
  const { files } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { files: string[] };
  const there = readdirSync(join(ROOT, FOLDER)).filter((name) => name.endsWith('.schema.json'));
  expect(there.sort()).toEqual(
    Object.keys(KEPT)
      .map((name) => `${name}.schema.json`)
      .sort(),
  );
  for (const name of there) expect(files).toContain(`${FOLDER}/${name}`);
});
