/** Two times that share the way where one alone does not do, and the reason where nothing does. */
import { describe, expect, it } from 'vitest';
import { run } from '../../cli/run';
import { applyFix, look, problemsWith } from '../rigs';

/**
 * Each element answers after 10 ms. a is driven 0.01–0.91 s and travels 100 ms: shut at 1.01 s. b leaves its seat at 0.63 s (0.6 s after
 * `long`, which lasts `pulse`, and three answers), so both are off their seats for 380 ms.
 */
const lock = (pulse: string, open: string): string => `rig lock {
  controller { response 10 ms }
  chamber room { volume 1 m3 }
  chamber yard { volume 2 m3 }
  door a { travel 100 ms }
  door b { travel 100 ms }
  stack room > a > b > yard
  switch go = off
  signal long = TP(go, ${pulse})
  signal a_on = TP(go, 900 ms)
  signal b_on = TP(TON(long, 600 ms), 1.2 s)
  drive a = a_on
  drive b = b_on
  require open_time(a) >= ${open}
}
`;

const pathOf = (text: string) => {
  const looked = look(text);
  expect(looked.mistakes).toEqual([]);
  const found = problemsWith(looked, 'door/straight-through');
  expect(found).toHaveLength(1);
  return found[0]!;
};

describe('a path straight through', () => {
  it('is closed by one time where that does', () => {
    const { fixes, noFix } = pathOf(lock('3 s', '100 ms'));
    expect(fixes!.every((fix) => !/ and (shorten|lengthen) /.test(fix.title))).toBe(true);
    expect(noFix).toBeUndefined();
  });

  it('by two that share the way, where one alone breaks what is required or never runs out', () => {
    const text = lock('950 ms', '700 ms');
    const { fixes } = pathOf(text);
    const [fix] = fixes!;
    expect(fix!.title).toMatch(/^(Shorten|Lengthen) \S+ from .* and (shorten|lengthen) \S+ from .*, so that no path/);
    const turns = [...fix!.title.matchAll(/(shorten|lengthen) \S+ from ([\d.]+) (m?s) to ([\d.]+) (m?s)/gi)];
    expect(turns).toHaveLength(2);
    for (const [, verb, from, fromUnit, to, toUnit] of turns) {
      const grows = Number(to) * (toUnit === 's' ? 1000 : 1) > Number(from) * (fromUnit === 's' ? 1000 : 1);
      expect(verb!.toLowerCase()).toBe(grows ? 'lengthen' : 'shorten');
    }
    expect(fix!.costs).toBeUndefined();
    const after = look(applyFix(text, fix!));
    expect(after.mistakes).toEqual([]);
    expect(after.problems.filter((p) => p.severity === 'error')).toEqual([]);
  });

  it('by nothing without a price: the first that does is offered with what it brings', () => {
    const { fixes, noFix } = pathOf(lock('650 ms', '790 ms'));
    expect(fixes!.map((fix) => fix.title)).toEqual([
      'Shorten a_on from 900 ms to 420 ms, so that no path is open straight through (brings require/failed)',
    ]);
    expect(fixes![0]!.costs).toBe(true);
    expect(noFix).toBeUndefined();
  });
});

describe('what is said of no fix', () => {
  const lasting = (pulse: string, delay: string): string =>
    lock('650 ms', '100 ms').replace('TP(go, 900 ms)', `TP(long, ${pulse})`).replace('600 ms)', `${delay})`);

  it.each([
    // b could begin 650 ms after `long` at the latest, and a is shut at 770 ms.
    [lasting('640 ms', '100 ms'), 'b_on/TON would have to be over three times as long, or under a third'],
    // b begins while a is on, whatever both last.
    [
      lock('3 s', '100 ms').replace('TON(long', 'TON(a_on'),
      'turning a_on or b_on/TON, alone or two together, does not cure it without breaking something else',
    ],
  ])('is in the JSON, and with --show-fixes in the text', async (text, because) => {
    const files = { 'it.rig': text };
    const json = JSON.parse((await run(['check', 'it.rig', '--format', 'json'], files)).out) as {
      findings: { code: string; fixes: string[]; noFix?: string }[];
    };
    const without = json.findings.filter((f) => f.noFix !== undefined);
    expect(without.map((f) => [f.code, f.noFix])).toContainEqual(['door/straight-through', because]);
    expect(without.every((f) => f.fixes.length === 0)).toBe(true);
    const { out } = await run(['check', 'it.rig', '--show-fixes'], files);
    for (const { noFix } of without) expect(out).toContain(`no quick fix because ${noFix}\n`);
    expect((await run(['check', 'it.rig'], files)).out).not.toContain('no quick fix');
  });
});
