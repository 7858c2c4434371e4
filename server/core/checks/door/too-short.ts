/** `door/too-short`: a door that starts to close before it is fully open. */
import type { Opening } from '../../timing/course';
import { openings, strokeCourses } from '../../timing/course';
import { doorPlaces } from '../../metrics/timing/places';
import type { Course } from '../../timing/course';
import { timesOf } from '../../choose/part';
import type { Goal } from '../../choose/search';
import { formatTime } from '../../units/units';
import { CLEARANCE } from '../repair/clearance';
import { type Check, type CheckContext, found, type Found } from '../check';
import { driveOf } from '../../model/logic';
import { presetFixes } from '../repair/preset-fix';
import { say } from '../../words/say';

export const tooShort: Check = {
  code: 'door/too-short',
  title: 'Shut again before fully open',
  severity: 'warning',
  explanation:
    'In a stroke the door is driven for a shorter time than it takes to open, so it turns round half way and its pocket is never fully swept. Drive it for longer than `opens_in` (or `travel`).',
  run(context) {
    const seen = new Set<number>();
    return strokeCourses(context.facts).flatMap((course) =>
      context.rig.doors.flatMap((_, door) => {
        const short = openings(course, door).find((o) => o.fullyOpen.length === 0 && o.notShut.to !== null);
        if (!short || seen.has(door)) return [];
        seen.add(door);
        return [problemOf(context, course, short)];
      }),
    );
  },
};

function problemOf(context: CheckContext, course: Course, opening: Opening): Found {
  const { rig } = context;
  const door = rig.doors[opening.door]!;
  const driven = opening.commanded.reduce((sum, i) => sum + (i.to! - i.from), 0);
  const lacks = door.opensIn.nominal - driven;
  const message = say`${door.name} is driven for ${formatTime(driven)} from ${formatTime(opening.notShut.from)} ${course.label} and needs ${formatTime(door.opensIn.nominal)} to open, so it turns round ${formatTime(lacks)} before it is fully open.`;
  const goal: Goal = (facts) =>
    strokeCourses(facts).every((c) =>
      openings(c, opening.door).every((o) => o.fullyOpen.length > 0 || o.notShut.to === null),
    );
  const longer = timesOf(rig, opening, 'closes').map((literal) => ({
    literal,
    value: literal.value + lacks + CLEARANCE,
  }));
  const earlier = timesOf(rig, opening, 'opens').map((literal) => ({
    literal,
    value: literal.value - lacks - CLEARANCE,
  }));
  const repair = () => presetFixes(context, [...longer, ...earlier], goal, say`so that ${door.name} opens fully`);
  const at = driveOf(rig, opening.door)?.at ?? door.at;
  return found(tooShort, at, message, { doors: [opening.door] }, { related: doorPlaces(rig, opening), repair });
}
