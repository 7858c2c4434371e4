/** `door/straight-through`: all doors between two chambers off their seats at once. */
import { lengthOf } from '../../timing/intervals';
import { listText, spanText } from '../../timing/words';
import type { Repair } from '../../model/problem';
import { partingTimes } from '../../choose/part';
import type { Goal } from '../../choose/search';
import { formatTime } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { endsOf } from '../../model/intent';
import { presetFixes } from '../repair/preset-fix';
import type { Path } from '../../model/stages';
import type { OpenPath } from '../straight';
import { isSamePath, pathsOpen } from '../straight';
import type { Meeting } from './meetings';
import { alikeAfter, causesOf, meetingsOf, moreTimes } from './meetings';
import { say } from '../../words/say';

export const straightThrough: Check = {
  code: 'door/straight-through',
  asksIntent: true,
  title: 'Path straight through',
  severity: 'error',
  explanation:
    'All doors between two chambers of a stack (two doors or more, also with chambers in between; or out of a chamber under pressure through a lock and its vent in another stack) are off their seats at the same time in a stroke, so that one chamber blows straight into the other. Set at least two of them apart. It is taken as meant only where every pair of them has a `require overlap(…)` whose least value is above 0 s; a sequence that opens them together does not excuse it.',
  run: (context) => onceEach(pathsOpen(context.facts)).map(([path, others]) => problemOf(context, path, others)),
};

/** Of triggers that start the same stroke one speaks for all: the first, with how many others open the path at the same times. */
function onceEach(paths: readonly OpenPath[]): [OpenPath, number][] {
  const byPath = new Map<string, [OpenPath, number]>();
  for (const open of paths) {
    const times = open.intervals.map((i) => `${i.from}-${i.to}`).join();
    const key = `${open.path.stack} ${open.path.doors.join()} ${times}`;
    const known = byPath.get(key);
    if (known) known[1]++;
    else byPath.set(key, [open, 0]);
  }
  return [...byPath.values()];
}

function problemOf(context: CheckContext, { course, path, intervals }: OpenPath, others: number): Found {
  const { rig } = context;
  const first = intervals[0]!;
  const names = listText(path.doors.map((d) => rig.doors[d]!.name));
  const length = first.to === null ? '' : ` (${formatTime(lengthOf(first))})`;
  const when = `${spanText(first)}${length} ${course.label}`;
  const more = moreTimes(intervals.length);
  const also = alikeAfter(others);
  const meetings = path.doors.flatMap((a, i) => path.doors.slice(i + 1).flatMap((b) => meetingsOf(course, a, b)));
  const decisive = meetings.find((m) => m.both.from === first.from) ?? meetings[0];
  return found(
    straightThrough,
    rig.stacks[path.stack]!.members.find((m) => m.kind === 'door' && m.index === path.doors[0])?.at ?? rig.at,
    path.doors.length === 2
      ? say`${names} are both open ${when}${more}${also}: a path straight through from ${endsOf(rig, path)}.`
      : say`${names} are all open ${when}${more}${also}: a path straight through from ${endsOf(rig, path)}.`,
    { doors: path.doors },
    { related: decisive ? causesOf(rig, decisive) : [], repair: () => fixesOf(context, meetings, path) },
  );
}

/** Sets apart the pair for which the least has to change. */
function* fixesOf(context: CheckContext, meetings: readonly Meeting[], path: Path): Work<Repair[]> {
  const goal: Goal = (facts) => !pathsOpen(facts).some((p) => isSamePath(p.path, path));
  const candidates = meetings.flatMap((m) => partingTimes(context.rig, m.first, m.second, CLEARANCE));
  candidates.sort((a, b) => Math.abs(a.value - a.literal.value) - Math.abs(b.value - b.literal.value));
  return yield* presetFixes(context, candidates, goal, say`so that no path is open straight through`);
}
