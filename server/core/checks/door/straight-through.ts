/** `door/straight-through`: all doors between two chambers off their seats at once. */
import { lengthOf } from '../../metrics/intervals';
import { listText, spanText } from '../../metrics/words';
import type { Fix, Problem } from '../../model/problem';
import type { Rig } from '../../model/rig';
import { partingTimes } from '../../choose/part';
import type { Goal } from '../../choose/search';
import { formatTime } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import type { Check, CheckContext } from '../check';
import { isOverlapWanted } from '../intent';
import { presetFixes } from '../repair/preset-fix';
import type { Stage } from '../../model/stages';
import type { OpenPath } from '../straight';
import { pathsOpen } from '../straight';
import type { Meeting } from './meetings';
import { causesOf, meetingsOf } from './meetings';

export const straightThrough: Check = {
  code: 'door/straight-through',
  title: 'Path straight through',
  severity: 'error',
  explanation:
    'All doors between two chambers (two or more) are off their seats at the same time in a stroke, so that one chamber blows straight into the other. Set at least two of them apart. Only where every pair of them has a `require overlap(…)` that wants it is it taken as meant.',
  run: (context) =>
    pathsOpen(context.facts)
      .filter((path) => !isMeant(context.rig, path.stage))
      .map((path) => problemOf(context, path)),
};

/** Every pair of the stage is wanted open together. */
export function isMeant(rig: Rig, { doors }: Stage): boolean {
  return doors.every((a, i) => doors.slice(i + 1).every((b) => isOverlapWanted(rig, a, b)));
}

/** "receiver to store": the chambers that a stage joins. */
export function endsOf(rig: Rig, { upstream, downstream }: Stage): string {
  return `${rig.chambers[upstream]?.name ?? 'one end'} to ${rig.chambers[downstream]?.name ?? 'the other end'}`;
}

function problemOf(context: CheckContext, { course, stage, intervals }: OpenPath): Problem {
  const { rig } = context;
  const first = intervals[0]!;
  const names = listText(stage.doors.map((d) => rig.doors[d]!.name));
  const length = first.to === null ? '' : ` (${formatTime(lengthOf(first))})`;
  const more = intervals.length > 1 ? `, and ${intervals.length - 1} more time${intervals.length > 2 ? 's' : ''}` : '';
  const meetings = stage.doors.flatMap((a, i) => stage.doors.slice(i + 1).flatMap((b) => meetingsOf(course, a, b)));
  const decisive = meetings.find((m) => m.both.from === first.from) ?? meetings[0];
  return {
    code: straightThrough.code,
    severity: straightThrough.severity,
    message: `${names} are ${stage.doors.length === 2 ? 'both' : 'all'} open ${spanText(first)}${length} ${course.label}${more}: a path straight through from ${endsOf(rig, stage)}.`,
    at: rig.stacks[stage.stack]!.members.find((m) => m.kind === 'door' && m.index === stage.doors[0])?.at ?? rig.at,
    related: decisive ? causesOf(rig, decisive) : [],
    fixes: fixesOf(context, meetings, stage),
  };
}

/** Sets apart the pair for which the least has to change. */
function fixesOf(context: CheckContext, meetings: readonly Meeting[], stage: Stage): Fix[] {
  const goal: Goal = (facts) =>
    !pathsOpen(facts).some((p) => p.stage.stack === stage.stack && p.stage.doors[0] === stage.doors[0]);
  const candidates = meetings.flatMap((m) => partingTimes(context.rig, m.first, m.second, CLEARANCE));
  candidates.sort((a, b) => Math.abs(a.value - a.literal.value) - Math.abs(b.value - b.literal.value));
  return presetFixes(context, candidates, goal, `so that no path stands straight open`);
}
