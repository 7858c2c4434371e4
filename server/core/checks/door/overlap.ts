/** `door/overlap`: two doors of one stage off their seats together, and nobody said so. */
import { strokeCourses } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import { spanText } from '../../timing/words';
import type { Fix, Problem } from '../../model/problem';
import { areApart, partingTimes } from '../../choose/part';
import { formatTime, timeLiteral } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import type { Check, CheckContext } from '../check';
import { requireFix } from '../repair/edits';
import { isPairStated } from '../../model/intent';
import { driveOf } from '../../model/logic';
import { presetFixes } from '../repair/preset-fix';
import { stagesOf } from '../../model/stages';
import type { Meeting } from './meetings';
import { causesOf, meetingsOf, responsible } from './meetings';

export const overlap: Check = {
  code: 'door/overlap',
  title: 'Doors open together, not stated as meant',
  severity: 'warning',
  explanation:
    'Two doors between the same two chambers are off their seats at the same time in a stroke (the cautious reading: not shut, travel included), and no requirement says what is wanted of the two. Overlaps are often meant, so say so: `require overlap(a, b) >= …` wants it, `require gap(a, b) >= …` forbids it; `order` and `never` with both doors, and a `sequence` that opens them together, count as well. Then the requirement is checked instead. Two doors that are all there is between two chambers are reported as `door/straight-through`.',
  run(context) {
    const { rig, facts } = context;
    const courses = strokeCourses(facts);
    return pairsOf(context).flatMap(([a, b]) => {
      if (isPairStated(rig, a, b)) return [];
      const meetings = courses.flatMap((course) => meetingsOf(course, a, b));
      return meetings[0] ? [problemOf(context, meetings[0], meetings.length)] : [];
    });
  },
};

/** Pairs of doors within stages of three doors or more. */
function pairsOf({ rig }: CheckContext): (readonly [number, number])[] {
  const seen = new Set<string>();
  return stagesOf(rig).flatMap(({ doors }) => {
    if (doors.length < 3) return [];
    return doors.flatMap((a, i) =>
      doors.slice(i + 1).flatMap((b) => {
        const key = `${Math.min(a, b)} ${Math.max(a, b)}`;
        if (a === b || seen.has(key)) return [];
        seen.add(key);
        return [[a, b] as const];
      }),
    );
  });
}

function problemOf(context: CheckContext, meeting: Meeting, count: number): Problem {
  const { rig } = context;
  const { course, first, second, both, fully } = meeting;
  const [a, b] = [rig.doors[first.door]!, rig.doors[second.door]!];
  const length = both.to === null ? '' : ` (${formatTime(lengthOf(both))})`;
  const full =
    fully === null
      ? 'never both fully open'
      : `both fully open ${fully.to === null ? 'without end' : `for ${formatTime(lengthOf(fully))}`}`;
  const more = count > 1 ? `, and ${count - 1} more time${count > 2 ? 's' : ''}` : '';
  const why = responsible(rig, meeting);
  const message = `${a.name} and ${b.name} are open together ${spanText(both)}${length} ${course.label}${more}, ${full}, and nothing says that they should be${why === '' ? '' : `: ${why}`}.`;
  return {
    code: overlap.code,
    severity: overlap.severity,
    message,
    at: driveOf(rig, second.door)?.at ?? b.at,
    related: causesOf(rig, meeting),
    fixes: fixesOf(context, meeting),
  };
}

function fixesOf(context: CheckContext, meeting: Meeting): Fix[] {
  const { rig } = context;
  const { first, second, fully } = meeting;
  const [a, b] = [rig.doors[first.door]!.name, rig.doors[second.door]!.name];
  const least = fully && fully.to !== null ? roundedDown(lengthOf(fully)) : 0;
  const wanted =
    least > 0
      ? requireFix(
          context,
          `State that ${a} and ${b} are meant to overlap`,
          `overlap(${a}, ${b}) >= ${timeLiteral(least)}`,
        )
      : [];
  const apart = requireFix(
    context,
    `State that ${a} and ${b} must stay apart`,
    `gap(${a}, ${b}) >= ${timeLiteral(CLEARANCE)}`,
  );
  const candidates = partingTimes(rig, first, second, CLEARANCE);
  const goal = areApart(first.door, second.door);
  return [...wanted, ...apart, ...presetFixes(context, candidates, goal, `so that ${a} and ${b} are apart`)];
}

/** A readable length not above the present one: whole 50 ms, below that whole ms. */
function roundedDown(us: number): number {
  const step = us >= 50_000 ? 50_000 : 1_000;
  return Math.floor(us / step) * step;
}
