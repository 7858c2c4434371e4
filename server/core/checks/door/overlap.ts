/** `door/overlap`: two doors of one stage off their seats together, and this is not stated as meant. */
import { strokeCourses } from '../../timing/course';
import type { Course, Opening } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import { spanText } from '../../timing/words';
import type { Repair } from '../../model/problem';
import { areApart, partingTimes } from '../../choose/part';
import { formatTime, timeLiteral } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { requireFix } from '../repair/edits';
import { isPairStated } from '../../model/intent';
import { driveOf } from '../../model/logic';
import { presetFixes } from '../repair/preset-fix';
import { stagesOf } from '../../model/stages';
import type { Meeting } from './meetings';
import { causesOf, meetingsOf, moreTimes, responsible } from './meetings';
import { say } from '../../words/say';

export const overlap: Check = {
  code: 'door/overlap',
  asksIntent: true,
  title: 'Doors open together without a stated intent',
  severity: 'warning',
  explanation:
    'Two doors between the same two chambers are off their seats at the same time in a stroke (the cautious reading: not shut, travel included), and no requirement says what is wanted of the two. Overlaps are often meant, so say so: `require overlap(a, b) >= …` wants it, `require gap(a, b) >= …` forbids it; `order` and `never` with both doors, and a `sequence` that opens them together, count as well. Then the requirement is checked instead. Two doors that are all there is between two chambers are reported as `door/straight-through`.',
  run(context) {
    const { rig, facts } = context;
    const courses = strokeCourses(facts);
    return pairsOf(context, courses).flatMap(([a, b]) => {
      if (isPairStated(rig, a, b)) return [];
      const meetings = courses.flatMap((course) => meetingsOf(course, a, b));
      return meetings[0] ? [problemOf(context, meetings[0], meetings.length)] : [];
    });
  },
};

/** Pairs of doors within stages of three doors or more that are off their seats together in some course; stage by stage, in its order. */
function pairsOf({ rig }: CheckContext, courses: readonly Course[]): (readonly [number, number])[] {
  const met = pairsMet(courses);
  const seen = new Set<string>();
  return stagesOf(rig).flatMap(({ doors }) => {
    if (doors.length < 3) return [];
    const place = new Map(doors.map((door, i) => [door, i]));
    const pairs = doors.flatMap((a, i) =>
      [...(met.get(a) ?? [])].flatMap((b) => ((place.get(b) ?? -1) > i ? [[a, b] as const] : [])),
    );
    return pairs
      .sort((x, y) => place.get(x[0])! - place.get(y[0])! || place.get(x[1])! - place.get(y[1])!)
      .filter(([a, b]) => {
        const key = `${Math.min(a, b)} ${Math.max(a, b)}`;
        return !seen.has(key) && seen.add(key);
      });
  });
}

/** Door → doors that are off their seats while it is. One sweep over all openings in order of time. */
function pairsMet(courses: readonly Course[]): Map<number, Set<number>> {
  const met = new Map<number, Set<number>>();
  const meet = (a: number, b: number) => (met.get(a) ?? met.set(a, new Set()).get(a)!).add(b);
  for (const course of courses) {
    let open: Opening[] = [];
    for (const next of course.openings.flat().sort((x, y) => x.notShut.from - y.notShut.from)) {
      open = open.filter((o) => (o.notShut.to ?? Infinity) > next.notShut.from);
      for (const o of open) {
        meet(o.door, next.door);
        meet(next.door, o.door);
      }
      open.push(next);
    }
  }
  return met;
}

function problemOf(context: CheckContext, meeting: Meeting, count: number): Found {
  const { rig } = context;
  const { course, first, second, both, fully } = meeting;
  const [a, b] = [rig.doors[first.door]!, rig.doors[second.door]!];
  const length = both.to === null ? '' : ` (${formatTime(lengthOf(both))})`;
  const full =
    fully === null
      ? say`never both fully open`
      : fully.to === null
        ? say`both fully open without end`
        : say`both fully open for ${formatTime(lengthOf(fully))}`;
  const more = moreTimes(count);
  const why = responsible(rig, meeting);
  const message = say`${a.name} and ${b.name} are open together ${spanText(both)}${length} ${course.label}${more}, ${full}, and nothing says that they should be${why === '' ? '' : `: ${why}`}.`;
  return found(
    overlap,
    driveOf(rig, second.door)?.at ?? b.at,
    message,
    { doors: [first.door, second.door] },
    {
      related: causesOf(rig, meeting),
      repair: () => fixesOf(context, meeting),
    },
  );
}

function* fixesOf(context: CheckContext, meeting: Meeting): Work<Repair[]> {
  const { rig } = context;
  const { first, second, fully } = meeting;
  const [a, b] = [rig.doors[first.door]!.name, rig.doors[second.door]!.name];
  const least = fully && fully.to !== null ? roundedDown(lengthOf(fully)) : 0;
  const wanted =
    least > 0
      ? requireFix(
          context,
          say`State that ${a} and ${b} are meant to overlap`,
          `overlap(${a}, ${b}) >= ${timeLiteral(least)}`,
        )
      : [];
  const apart = requireFix(
    context,
    say`State that ${a} and ${b} must stay apart`,
    `gap(${a}, ${b}) >= ${timeLiteral(CLEARANCE)}`,
  );
  const candidates = partingTimes(rig, first, second, CLEARANCE);
  const goal = areApart(first.door, second.door);
  return [
    ...wanted,
    ...apart,
    ...(yield* presetFixes(context, candidates, goal, say`so that ${a} and ${b} are apart`)),
  ];
}

/** A readable length not above the present one: whole 50 ms, below that whole ms. */
function roundedDown(us: number): number {
  const step = us >= 50_000 ? 50_000 : 1_000;
  return Math.floor(us / step) * step;
}
