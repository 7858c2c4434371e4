/** Fitted values written into texts of every layout; what cannot be written whole is refused. */
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { applyEdits } from '../../server/core/document/apply-edits';
import { createDocument } from '../../server/core/document/document';
import { fitRig } from '../../server/core/readings/fit';
import { fittedEdits } from '../../server/core/readings/fitted-edits';
import { readLog } from '../../server/core/readings/log-csv';

const URI = 'file:///yard/lock.rig';

function written(text: string, log: string) {
  const document = createDocument({ uri: URI, version: 0, text }, () => undefined);
  expect(document.problems().filter((p) => p.severity === 'error')).toEqual([]);
  const facts = document.analysed()[0]!;
  const reading = readLog(facts.rig, log);
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const edits = fittedEdits(fitRig(facts, reading.log), (uri) =>
    uri === URI ? { text, tree: parse(text).tree } : null,
  );
  return applyEdits(edits, (uri) => (uri === URI ? text : undefined));
}

/** One stroke of a door, read every 50 ms: it opens in `opens` ms and closes in `closes` ms. */
function logOf(door: string, opens: number, closes: number): string {
  const rows = ['time [s],' + door];
  const at = (t: number): number => (t < 1000 ? Math.min(1, t / opens) : Math.max(0, 1 - (t - 1000) / closes));
  for (let t = 0; t <= 2500; t += 50) rows.push(`${t / 1000},${at(t)}`);
  return rows.join('\n') + '\n';
}

const rig = (door: string): string => `rig r {
  medium air
  chamber a { volume 1 m3  pressure 2 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  ${door}
  stack a > d > b
  switch s = off
  drive d = s
}
`;
const doorAfter = (door: string, opens: number, closes: number): string | undefined => {
  const result = written(rig(door), logOf('d', opens, closes));
  if (!result.ok) throw new Error(result.reason);
  return /door d[^\n]*(\n[^\n]*)*?(?=\n {2}stack)/.exec(result.texts.get(URI)!)?.[0];
};

describe('fitted values in the text', () => {
  it.each([
    ['door d { travel 300 ms }', 400, 400, 'door d { travel 400 ms }'],
    ['door d { travel 300 ms }', 400, 500, 'door d { opens_in 400 ms  closes_in 500 ms }'],
    ['door d { opens_in 300 ms  closes_in 200 ms }', 400, 500, 'door d { opens_in 400 ms  closes_in 500 ms }'],
    ['door d { travel 300 ms  opens_in 1 s }', 400, 500, 'door d { travel 300 ms  opens_in 400 ms  closes_in 500 ms }'],
    ['door d { pocket 1 L }', 400, 500, 'door d { pocket 1 L  opens_in 400 ms  closes_in 500 ms }'],
    ['door d # no travel', 400, 500, 'door d { opens_in 400 ms  closes_in 500 ms } # no travel'],
    [
      'door d {\n    pocket 1 L\n  }',
      400,
      500,
      'door d {\n    pocket 1 L\n    opens_in 400 ms\n    closes_in 500 ms\n  }',
    ],
  ])('%s', (door, opens, closes, after) => expect(doorAfter(door, opens, closes)).toBe(after));

  it('an argument of a placed part is changed where it is written', () => {
    const text = `part lock(a, b, go, takes) {
  door d { opens_in takes  closes_in 500 ms }
  stack a > d > b
  drive d = go
}
rig r {
  chamber low { volume 1 m3 }
  chamber high { volume 1 m3 }
  switch s = off
  place west = lock(low, high, s, 300 ms)
}
`;
    const result = written(text, logOf('west.d', 400, 500));
    expect(result.ok && result.texts.get(URI)).toContain('lock(low, high, s, 400 ms)');
  });

  it('two values for one part are refused', () => {
    const text = `part lock(a, b, go) {
  door d { travel 300 ms }
  stack a > d > b
  drive d = go
}
rig r {
  chamber low { volume 1 m3 }
  chamber mid { volume 1 m3 }
  chamber high { volume 1 m3 }
  switch s = off
  place west = lock(low, mid, s)
  place east = lock(mid, high, s)
}
`;
    const [west, east] = [logOf('west.d', 400, 400), logOf('east.d', 600, 600)].map((log) => log.trim().split('\n'));
    const log = west!.map((row, i) => `${row},${east![i]!.split(',')[1]}`).join('\n');
    const result = written(text, log);
    expect(!result.ok && result.reason).toContain('same place: "travel 400 ms" and "travel 600 ms"');
  });
});
