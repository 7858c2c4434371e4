/** `cycle/overrun`: the next stroke starts before the last one has ended. */
import type { Course } from '../../timing/course';
import { strokeCourses } from '../../timing/course';
import { listText } from '../../timing/words';
import { secondOpening } from '../../metrics/timing/repeat';
import { timerPlaces } from '../../metrics/timing/places';
import { decidingNets } from '../../model/logic';
import type { Repair } from '../../model/problem';
import { timesOf } from '../../choose/part';
import type { Goal } from '../../choose/search';
import { formatTime } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { isOverlapWanted } from '../../model/intent';
import { presetFixes } from '../repair/preset-fix';
import { say } from '../../words/say';

export const overrun: Check = {
  code: 'cycle/overrun',
  asksIntent: true,
  title: 'Starts again before it has ended',
  severity: 'warning',
  explanation:
    'With the trigger held, the door that opens first leaves its seat for the second stroke while another door of the first stroke is not shut yet, or before it was shut itself. Lengthen the hold-off between strokes. Where every door that is still open has a `require overlap(…)` with the first one that wants it, strokes that run into each other are taken as meant; a door that never shuts is not.',
  run(context) {
    return strokeCourses(context.facts).flatMap((course) => {
      const it = late(context, course);
      return it ? [problemOf(context, course, it)] : [];
    });
  },
};

interface Late {
  /** When the second stroke's first door leaves its seat (or turns round), and which door that is. */
  readonly at: number;
  readonly lead: number;
  readonly doors: readonly number[];
  readonly ends: number;
}

function late({ rig }: CheckContext, course: Course): Late | null {
  const { stroke } = course;
  if (!stroke || stroke.starts.length < 2) return null;
  const again = secondMove(course);
  if (!again) return null;
  const open = course.openings.flatMap((list, door) => {
    const now = list.find(
      (o) => o.notShut.from < again.t && (o.notShut.to ?? Infinity) > again.t && o.opensBecause.length > 0,
    );
    return now ? [{ door, to: now.notShut.to ?? Infinity }] : [];
  });
  // One that never shuts is held open by something else, unless each stroke drives it again before it shuts.
  const isStrokes = (door: number) => decidingNets(rig, door).has(stroke.startNet);
  const doors = open.filter((o) => o.to !== Infinity || o.door === again.door || isStrokes(o.door));
  // A wanted overlap has an end: a door that every stroke drives again before it shuts is never meant.
  const isMeant = (o: { readonly door: number; readonly to: number }): boolean =>
    o.to !== Infinity && o.door !== again.door && isOverlapWanted(rig, o.door, again.door);
  const unmeant = doors.filter((o) => !isMeant(o));
  if (unmeant.length === 0) return null;
  return {
    at: again.t,
    lead: again.door,
    doors: unmeant.map((o) => o.door),
    ends: Math.max(...doors.map((o) => o.to)),
  };
}

/** The departure with which the second stroke begins. */
function secondMove({ stroke, openings }: Course): { readonly t: number; readonly door: number } | null {
  const { starts, lead } = stroke!;
  const t = starts[1]!;
  return openings[lead]?.some((o) => o.commanded.some((c) => c.from === t)) ? { t, door: lead } : null;
}

function problemOf(context: CheckContext, course: Course, it: Late): Found {
  const { rig } = context;
  const lead = rig.doors[it.lead]!;
  const others = it.doors.filter((d) => d !== it.lead).map((d) => rig.doors[d]!.name);
  const still =
    others.length > 1
      ? say`${listText(others)} are still open`
      : others.length > 0
        ? say`${others[0]!} is still open`
        : say`${lead.name} itself is not shut yet`;
  const until = it.ends === Infinity ? say` and never shuts` : say`, until ${formatTime(it.ends)}`;
  const message = say`The next stroke starts too early: ${lead.name} opens again ${formatTime(it.at)} ${course.label}, while ${still}${until}.`;
  const chain = secondOpening(course);
  const related = chain ? timerPlaces(rig, chain.opensBecause, say`it lets the next stroke start`) : [];
  return found(
    overrun,
    lead.at,
    message,
    { doors: [it.lead, ...it.doors] },
    { related, repair: () => fixesOf(context, course, it) },
  );
}

function* fixesOf(context: CheckContext, course: Course, it: Late): Work<Repair[]> {
  const again = secondOpening(course);
  if (!again || it.ends === Infinity) return [];
  const more = it.ends - it.at + CLEARANCE;
  const candidates = timesOf(context.rig, again, 'opens').map((literal) => ({ literal, value: literal.value + more }));
  const goal: Goal = (facts) => strokeCourses(facts).every((c) => late({ ...context, rig: facts.rig }, c) === null);
  return yield* presetFixes(context, candidates, goal, say`so that a stroke ends before the next one starts`);
}
