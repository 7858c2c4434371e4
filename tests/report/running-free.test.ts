/** A rig that runs from power-on has no trigger: no output leaves a gap where the name of one would stand. */
import { expect, it } from 'vitest';
import { diffRigs } from '../../server/core/report/diff';
import { flowTable } from '../../server/core/report/flow-table';
import { pageMarkdown } from '../../server/core/report/page/markdown';
import { sheetOf } from '../../server/core/report/sheet/sheet';
import { timingTable } from '../../server/core/report/timing-table';
import { look } from '../checks/rigs';

const rig = (interval: string) => {
  const text = `rig bellows {
  medium air
  chamber low  { volume 1 m3  pressure 3 bar }
  chamber high { volume 1 m3  pressure 1 bar }
  door first  { pocket 10 L  travel 100 ms }
  door second { pocket 10 L  travel 100 ms }
  door third  { pocket 10 L  travel 100 ms }
  stack low > first > second > third > high
  controller { response 10 ms }
  signal tick = TON(not tick, ${interval})
  signal mid  = TOF(tick, 1.9 s)
  drive first  = TOF(tick, 900 ms)
  drive second = mid
  drive third  = TOF(TON(mid, 1.2 s), 600 ms)
}
`;
  const { contexts, problems } = look(text);
  return { facts: contexts[0]!.facts, problems, text };
};
const GAP = /started by [,:]|When {2}goes|Bring {2}o|after {2}goes|Hold \.|while {2}holds/;

it('is named as running by itself by flow, sheet, timing and diff', () => {
  const [old, now] = [rig('5 s'), rig('6 s')];
  const flow = flowTable(old.facts).join('\n');
  const sheet = pageMarkdown(sheetOf(old.facts));
  const timing = timingTable(old.facts).join('\n');
  const diff = JSON.stringify(diffRigs(old, now).rows);
  // 5 s and two responses of 10 ms.
  expect(flow).toContain('One stroke of the rig running by itself, every 5.02 s:');
  expect(sheet).toContain('From power-on, by itself, counted from the first opening');
  expect(sheet).toContain('The rig runs by itself: start the clock as the first door leaves its seat');
  expect(timing).toContain('it runs by itself');
  expect(diff).toContain('repeat after the first opening');
  for (const text of [flow, sheet, timing, diff]) expect(text).not.toMatch(GAP);
});
