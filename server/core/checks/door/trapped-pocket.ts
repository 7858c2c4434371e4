/** `door/trapped-pocket`: a door closes while both its neighbours are shut, so that what it displaces goes nowhere. */
import type { Course, Opening } from '../../timing/course';
import { openings, strokeCourses } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import { doorPlaces } from '../../metrics/timing/places';
import { listText, spanText } from '../../timing/words';
import type { Repair } from '../../model/problem';
import type { Rig } from '../../model/rig';
import type { Interval } from '../../timing/facts';
import { complement, intersectAll } from '../../timing/windows';
import { timesOf } from '../../choose/part';
import { formatTime } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import type { Candidate } from '../repair/preset-fix';
import { presetFixes } from '../repair/preset-fix';
import type { Stage } from '../../model/stages';
import { hasPocket, pocketOutlets, stagesOf } from '../../model/stages';
import { say } from '../../words/say';

export const trappedPocket: Check = {
  code: 'door/trapped-pocket',
  title: 'Pocket trapped while its door closes',
  severity: 'warning',
  explanation:
    'While a door closes, it displaces what is in its pocket to a side that is open: a chamber next to it, or the pocket of a neighbouring door that is off its seat. Here the doors next to it on both sides are shut during (part of) the movement, so the pocket has nowhere to go: a gas is squeezed, a liquid locks the door. A liquid also needs a way that leads on to a chamber: open pockets are full already. Let a neighbour open before, or stay open until the door is shut. Doors without a stated `pocket` are not looked at. An error for liquids.',
  run(context) {
    const stages = stagesOf(context.rig);
    const traps = strokeCourses(context.facts).flatMap((course) => stages.flatMap((stage) => trapsIn(course, stage)));
    const first = traps.filter((trap, i) => traps.findIndex((t) => t.opening.door === trap.opening.door) === i);
    return first.map((trap) => problemOf(context, trap));
  },
};

interface Trap {
  readonly course: Course;
  readonly stage: Stage;
  readonly opening: Opening;
  readonly during: Interval;
}

function trapsIn(course: Course, stage: Stage): Trap[] {
  return stage.doors.flatMap((door, place) => {
    if (!hasPocket(course.rig, door)) return [];
    const blocked = intersectAll(pocketOutlets(course.rig, stage, place).map((reach) => blockedTimes(course, reach)));
    return openings(course, door).flatMap((opening) => {
      const during = intersectAll([closingTimes(course, opening), blocked])[0];
      return during ? [{ course, stage, opening, during }] : [];
    });
  });
}

/** The times in which an opening's door moves towards shut. */
function closingTimes(course: Course, { door, notShut }: Opening): Interval[] {
  const { moves } = course.trace.doors[door]!;
  const end = notShut.to ?? course.trace.end;
  return moves.flatMap((move, i) => {
    if (move.to === 1 || move.t < notShut.from || move.t >= end) return [];
    const to = Math.min(move.arrives, moves[i + 1]?.t ?? Infinity, course.trace.end);
    return to > move.t ? [{ from: move.t, to }] : [];
  });
}

/** When nothing can go out past these doors: not all of them are off their seats. Without a door there is a chamber, always open. */
function blockedTimes(course: Course, reach: readonly number[]): Interval[] {
  if (reach.length === 0) return [];
  const open = intersectAll(reach.map((door) => (course.openings[door] ?? []).map((o) => o.notShut)));
  return complement(open, course.trace.start, Infinity);
}

function problemOf(context: CheckContext, trap: Trap): Found {
  const { rig } = context;
  const { course, opening, during } = trap;
  const name = rig.doors[opening.door]!.name;
  const neighbours = neighboursOf(trap).map((d) => rig.doors[d]!.name);
  const liquid = rig.medium?.phase === 'liquid';
  const when = `${spanText(during)} (${formatTime(lengthOf(during))}) ${course.label}`;
  const what = liquid
    ? say`the liquid in its pocket has nowhere to go and locks it`
    : say`what is in its pocket has nowhere to go`;
  return found(
    trappedPocket,
    rig.doors[opening.door]!.at,
    neighbours.length > 1
      ? say`${name} closes ${when} while ${listText(neighbours)} are shut on either side: ${what}.`
      : say`${name} closes ${when} while ${neighbours[0]!} is shut on either side: ${what}.`,
    { doors: [opening.door, ...neighboursOf(trap)] },
    {
      severity: liquid ? 'error' : trappedPocket.severity,
      related: doorPlaces(rig, opening),
      repair: () => fixesOf(context, trap),
    },
  );
}

function neighboursOf({ stage, opening }: Trap): number[] {
  const place = stage.doors.indexOf(opening.door);
  return [stage.doors[place - 1], stage.doors[place + 1]].filter((d) => d !== undefined);
}

/** The downstream neighbour first: it is where the stroke pushes to. */
function* fixesOf(context: CheckContext, trap: Trap): Work<Repair[]> {
  const { rig } = context;
  const { opening } = trap;
  const candidates = neighboursOf(trap)
    .reverse()
    .flatMap((neighbour) => candidatesFor(rig, trap, neighbour));
  const goal = (facts: CheckContext['facts']): boolean =>
    strokeCourses(facts).every((course) =>
      stagesOf(facts.rig).every((stage) => !trapsIn(course, stage).some((t) => t.opening.door === opening.door)),
    );
  return yield* presetFixes(
    context,
    candidates,
    goal,
    say`so that the pocket of ${rig.doors[opening.door]!.name} is open while it closes`,
  );
}

/** Keep the neighbour open until the door is shut, open it before the door closes, or move the door's own closing to suit. */
function candidatesFor(rig: Rig, { course, opening }: Trap, neighbour: number): Candidate[] {
  const shut = opening.notShut.to;
  const starts = opening.commanded[opening.commanded.length - 1]?.to ?? null;
  if (shut === null || starts === null) return [];
  const before = (course.openings[neighbour] ?? []).filter((o) => o.notShut.to !== null && o.notShut.to < shut).pop();
  const after = (course.openings[neighbour] ?? []).find((o) => o.notShut.from > starts);
  const by = (literals: ReturnType<typeof timesOf>, amount: number): Candidate[] =>
    literals.map((literal) => ({ literal, value: literal.value + amount })).filter((c) => c.value > 0);
  const own = timesOf(rig, opening, 'closes');
  return [
    ...(after ? by(own, after.notShut.from - starts + CLEARANCE) : []),
    ...(after ? by(timesOf(rig, after, 'opens'), starts - after.notShut.from - CLEARANCE) : []),
    ...(before ? by(timesOf(rig, before, 'closes'), shut - before.notShut.to! + CLEARANCE) : []),
    ...(before ? by(own, before.notShut.to! - shut - CLEARANCE) : []),
  ];
}
