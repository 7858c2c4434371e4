/** Several triggers of one stroke: what is the same is said once, what differs stands there. */
import { describe, expect, it } from 'vitest';
import { diffRigs } from '../../server/core/report/diff';
import { flowTable } from '../../server/core/report/flow-table';
import { pageMarkdown } from '../../server/core/report/page/markdown';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { timingTable } from '../../server/core/report/timing-table';
import { analyseRig } from '../../server/core/run/analyse';
import { rigFrom } from '../support/rig';

/** A lock that either switch starts; `a` may listen to another signal than the rest. */
const lock = (dwell = '1.3 s', a = 'go'): string => `rig lock {
  medium air
  chamber hall { volume 900 L  pressure 1.4 bar }
  chamber cell { volume 120 L  pressure 1.02 bar }
  door a { pocket 6 L  clearance 200 mL  travel 240 ms }
  door b { pocket 6 L  clearance 200 mL  travel 240 ms }
  door c { pocket 6 L  clearance 200 mL  travel 240 ms }
  stack hall > a > b > c > cell
  controller { response 15 ms }
  switch left = off
  switch right = off
  signal go   = (left or right) and not hold
  signal b_on = TOF(go, 2.2 s)
  signal hold = TOF(b_on, 4.4 s)
  drive a = TOF(${a}, ${dwell})
  drive b = b_on
  drive c = TOF(TON(b_on, 1.85 s), 900 ms)
}`;
const facts = (text: string) => analyseRig(rigFrom(text).rig);
const count = (text: string, part: string): number => text.split(part).length - 1;
const side = (text: string) => ({ facts: facts(text), problems: [] });

describe('a stroke that two triggers start alike', () => {
  it('has one table of times, and the other trigger refers to it', () => {
    const text = timingTable(facts(lock())).join('\n');
    expect(count(text, 'leaves shut')).toBe(1);
    expect(count(text, '  Why')).toBe(1);
    expect(text).toMatch(
      /Trigger: switch right goes on\..*\n\n {2}The doors do the same at the same times as after left goes on\.$/m,
    );
  });

  it('has its flow once, under both names', () => {
    const text = flowTable(facts(lock())).join('\n');
    expect(count(text, 'One stroke, started by')).toBe(1);
    expect(text).toContain('One stroke, started by left or right, every 6.69 s:');
  });

  it('is one sentence in the sheet, and watched again without its lines', () => {
    const text = pageMarkdown(sheetOf(facts(lock())));
    expect(text).toContain('When left or right goes on, counted from that moment: a leaves');
    expect(text).toContain('It repeats every 6.69 s while left or right holds.');
    expect(count(text, 'ms: a leaves its seat')).toBe(1);
    expect(text).toContain('See: the same at the same times as after left goes on');
  });

  it('has one row in a difference', () => {
    const rows = diffRigs(side(lock()), side(lock('1.45 s'))).rows;
    expect(rows.filter(({ group }) => group === 'times').map(({ what, change }) => [what, change])).toEqual([
      ['a starts to close after left or right goes on', '+150 ms'],
      ['a is shut after left or right goes on', '+150 ms'],
      ['overlap of a and b after left or right goes on', '+150 ms'],
      ['gap of a and c after left or right goes on', '−150 ms'],
    ]);
    expect(new Set(rows.map(({ group, what }) => `${group} ${what}`)).size).toBe(rows.length);
  });

  it('is not said to be alike where a door moves at another time', () => {
    const other = facts(lock('1.3 s', 'go and not right'));
    expect(count(timingTable(other).join('\n'), 'leaves shut')).toBe(2);
    expect(count(flowTable(other).join('\n'), 'One stroke, started by')).toBe(2);
    expect(pageMarkdown(sheetOf(other))).toContain('When right goes on, counted from that moment: b leaves');
  });
});
