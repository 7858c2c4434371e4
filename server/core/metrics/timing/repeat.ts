/** `repeat()`: the interval at which strokes follow one another while the trigger is held. */
import { causesOfMove } from '../../timing/causes';
import { formatTime } from '../../units/units';
import type { Rig } from '../../model/rig';
import { standstillText } from '../../run/no-repeat';
import type { Course, Opening } from '../../timing/course';
import type { StrokeFacts } from '../../timing/facts';
import type { Sample, ValueMetric } from '../metric';
import { NOWHERE } from '../metric';
import { doorName } from '../metric';
import { timerPlaces } from './places';
import { say } from '../../words/say';

export const repeat: ValueMetric = {
  name: 'repeat',
  kind: 'value',
  parameters: [],
  dimensions: ['time'],
  definition:
    'The time from the start of one stroke to the start of the next while the trigger is held: the sum of everything on the way round, not the preset of the hold-off alone. In a scenario: the times between openings of the door that opens first.',
  whenAbsent: 'failed',
  measure(course) {
    const { stroke } = course;
    if (!stroke) return intervals(course);
    if (stroke.repeat === null) return { kind: 'absent', why: whyNot(course.rig, stroke) };
    const again = secondOpening(course);
    const places = () => (again ? timerPlaces(course.rig, again.opensBecause, say`it lets the next stroke start`) : []);
    const why = say`strokes start every ${formatTime(stroke.repeat)}`;
    return { kind: 'samples', samples: [{ value: stroke.repeat, why, places }] };
  },
};

function whyNot(rig: Rig, stroke: StrokeFacts): string {
  const why = standstillText(rig, stroke);
  return why === ''
    ? say`the strokes do not repeat while the trigger is held`
    : say`the strokes do not repeat while the trigger is held: ${why}`;
}

/** The door that opens first in a course, -1 where none does. */
export function leadDoor(course: Course): number {
  let lead = -1;
  let earliest = Infinity;
  course.openings.forEach((list, door) => {
    const first = list.find((o) => o.opensBecause.length > 0);
    if (!first || first.notShut.from >= earliest) return;
    lead = door;
    earliest = first.notShut.from;
  });
  return lead;
}

/** The opening with which the second stroke begins; null where there is none. */
export function secondOpening(course: Course): Opening | null {
  const { stroke } = course;
  const second = stroke?.starts[1];
  if (!stroke || second === undefined) return null;
  const { lead } = stroke;
  const opening = course.openings[lead]?.find((o) => o.commanded.some((c) => c.from === second));
  if (!opening || opening.notShut.from === second) return opening ?? null;
  // It was not shut in between: what drives it again is what lets it turn round.
  const turn = course.trace.doors[lead]!.moves.find((m) => m.t === second && m.to === 1)!;
  return { ...opening, opensBecause: causesOfMove(course.rig, course.trace, lead, turn) };
}

function intervals(course: Course): ReturnType<ValueMetric['measure']> {
  const lead = leadDoor(course);
  const starts = (course.openings[lead] ?? []).map((o) => o.notShut.from);
  if (starts.length < 2) return { kind: 'absent', why: say`there is no second stroke` };
  const samples: Sample[] = starts.slice(1).map((t, i) => ({
    value: t - starts[i]!,
    why: say`${doorName(course.rig, lead)} opens at ${formatTime(starts[i]!)} and again at ${formatTime(t)}`,
    dated: true,
    places: NOWHERE,
  }));
  return { kind: 'samples', samples };
}
