/** A stage that only two changes together start has no stroke, and every output says what would open its doors. */
import { describe, expect, it } from 'vitest';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { flowTable } from '../../server/core/report/flow-table';
import { pageMarkdown } from '../../server/core/report/page/markdown';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { timingTable } from '../../server/core/report/timing-table';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

/** Two stages; the second opens its doors by `second`. */
const stages = (second: string, drives = 'drive c = second\n  drive d = TON(second, 2 s)'): string => `rig works {
  medium air
  chamber hall { volume 900 L  pressure 1.4 bar }
  chamber mid  { volume 120 L  pressure 1.1 bar }
  chamber cell { volume 60 L   pressure 1.1 bar }
  door a { travel 240 ms }
  door b { travel 240 ms }
  door c { travel 240 ms }
  door d { travel 240 ms }
  stack hall > a > b > mid
  stack mid > c > d > cell
  switch want = off
  sensor high on hall { pressure above 1.6 bar  clears below 1.5 bar }
  sensor full on mid  { pressure above 1.8 bar  clears below 1.6 bar }
  signal second = ${second}
  drive a = TP(high, 1.2 s)
  drive b = TP(TON(high, 1.9 s), 1.2 s)
  ${drives}
  require overlap(c, d) >= 100 ms
}`;
const facts = (text: string) => analyseRig(rigFrom(text).rig);
const outputs = (text: string): string[] => {
  const of = facts(text);
  return [timingTable(of), flowTable(of), [pageMarkdown(sheetOf(of))]].map((lines) => lines.join('\n'));
};
const SAID = 'c and d open in no stroke: it takes two changes, want on and then full on.';

describe('doors that it takes two changes to open', () => {
  it('are named in timing, flow and sheet, once, with the changes', () => {
    for (const text of outputs(stages('want and full'))) expect(text.split(SAID).length).toBe(2);
  });

  it('are named in the verdict on a requirement about them', () => {
    const of = facts(stages('want and full'));
    expect(evaluateRequirement(of, of.rig.requirements[0]!).message).toBe(
      'overlap(c, d) >= 100 ms does not hold: c opens in no stroke. It takes two changes to open c and d: want on and then full on.',
    );
  });

  it('are named with a sequence too', () => {
    const sequence = 'sequence s on second {\n    at 0 s open c\n    at 2 s open d\n    at 3 s close c, d\n  }';
    for (const text of outputs(stages('want and full', sequence))) expect(text).toContain(SAID);
  });

  it('come in the order in which they do it: an edge first, or last', () => {
    const text = outputs(stages('SR(R_TRIG(full) and want, high)'))[0];
    expect(text).toContain('it takes two changes, want on and then full on.');
  });

  it('are none where one change does, or where nothing does', () => {
    for (const second of ['want', 'full', 'full and not want', 'want and full and not want'])
      for (const text of outputs(stages(second))) expect(text).not.toContain('two changes');
  });
});
