/** What changed between two versions of a rig. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { diffRigs, type DiffRow } from '../../server/core/report/diff';
import { look } from '../checks/rigs';

const RIG = `rig kiln_fan "Kiln fan" {
  medium air
  chamber shed { volume 4 m3    pressure 1.02 bar }
  chamber kiln { volume 900 L  pressure 1.02 bar }
  door inner { pocket 60 L  travel 220 ms }
  door outer { pocket 60 L  travel 260 ms }
  stack shed > inner > outer > kiln
  controller { response 30 ms }
  switch run = on
  sensor ready on shed { pressure above 1.4 bar  clears below 1.2 bar }
  signal go       = run and ready and not hold
  signal inner_on = TOF(go, 1.3 s)
  signal outer_on = TP(TON(hold and not inner_on, 700 ms), 1.1 s)
  signal hold     = TOF(inner_on, 6 s)
  drive inner = inner_on
  drive outer = outer_on
  require gap(inner, outer) >= 200 ms
}
`;

function changes(edit: (text: string) => string, from: string = RIG): readonly DiffRow[] {
  const side = (text: string) => {
    const { contexts, problems } = look(text);
    return { facts: contexts[0]!.facts, problems };
  };
  return diffRigs(side(from), side(edit(from))).rows;
}

describe('the difference of two versions', () => {
  it('is empty for the same text, also laid out otherwise', () => {
    expect(changes((text) => text)).toEqual([]);
    expect(changes((text) => text.replace(/ {2,}/g, ' ').replaceAll('\n', '\n\n'))).toEqual([]);
  });

  it('tells a preset with everything that moved by it', () => {
    const rows = changes((text) => text.replace('TOF(go, 1.3 s)', 'TOF(go, 1.55 s)'));
    expect(rows).toContainEqual({
      group: 'settings',
      what: 'inner_on (TOF)',
      old: 'PT 1.3 s',
      now: 'PT 1.55 s',
      change: '+250 ms',
    });
    expect(rows.filter((r) => r.group === 'times').every((r) => r.change === '+250 ms')).toBe(true);
    expect(rows.map((r) => r.group)).not.toContain('connections');
  });

  it('says nothing of an opening that stays as it was, where others come after it', () => {
    const rows = changes((text) =>
      text.replace('TP(TON(hold and not inner_on, 700 ms), 1.1 s)', 'TOF(TON(hold, 300 ms), 5 s)'),
    );
    const about = rows.map((r) => r.what);
    expect(about.filter((what) => what.includes('(opening 2)')).length).toBeGreaterThan(0);
    expect(about.filter((what) => what.startsWith('inner leaves its seat') && !what.includes('(opening'))).toEqual([]);
  });

  it('tells what a stroke moves', () => {
    const text = readFileSync('samples/digester_bank.rig', 'utf8');
    const rows = changes((t) => t.replace('swept  = 250 L', 'swept  = 300 L'), text).filter((r) => r.group === 'flow');
    expect(rows).toHaveLength(1);
    expect(rows[0]).toMatchObject({ what: 'mass a stroke into store', change: '' });
    // Gas at nearly the same pressure: about as much more as the pockets are larger, by a fifth.
    const masses = [rows[0]!.old, rows[0]!.now].map((words) => Number.parseFloat(words!));
    expect(masses[1]! / masses[0]!).toBeCloseTo(1.2, 1);
  });

  it('recognises a rename and says nothing else', () => {
    const rows = changes((text) => text.replaceAll('outer_on', 'push_on').replaceAll('outer', 'lower_gate'));
    expect(rows).toEqual([
      { group: 'renamed', what: 'outer', old: 'outer', now: 'lower_gate', change: '' },
      { group: 'renamed', what: 'outer_on', old: 'outer_on', now: 'push_on', change: '' },
    ]);
  });

  it('tells a wire that goes elsewhere and a requirement that fails by it', () => {
    const rows = changes((text) => text.replace('TOF(inner_on, 6 s)', 'TOF(go, 6 s)'));
    expect(rows).toContainEqual({
      group: 'connections',
      what: 'to hold : IN',
      old: 'from inner_on : Q',
      now: 'from go : out',
      change: '',
    });
    const failed = changes((text) => text.replace('700 ms', '10 ms'));
    expect(failed.find((r) => r.group === 'requirements')?.now).toMatch(/^failed: /);
    expect(failed.filter((r) => r.group === 'findings').map((r) => r.what)).toContain('require/failed 1');
  });
});
