/** `opens_at`, `opened_at`, `closes_at`, `shuts_at`: when a door's four events first happen, cumulative from the trigger. */
import type { DoorEvent } from '../../model/rig';
import { formatTime } from '../../units/units';
import type { Course, Opening } from '../../timing/course';
import { isSinceBefore, leavesAt, openings } from '../../timing/course';
import type { ValueMetric } from '../metric';
import { doorName, itemIndex } from '../metric';
import { timerPlaces } from './places';
import { say } from '../../words/say';

const AT: Readonly<Record<DoorEvent, (name: string, t: string) => string>> = {
  opens: (name, t) => say`${name} leaves its seat at ${t}`,
  opened: (name, t) => say`${name} is fully open at ${t}`,
  closes: (name, t) => say`${name} starts to close at ${t}`,
  shuts: (name, t) => say`${name} is shut at ${t}`,
};
const NEVER: Readonly<Record<DoorEvent, (name: string) => string>> = {
  opens: (name) => say`there is no moment at which ${name} leaves its seat`,
  opened: (name) => say`there is no moment at which ${name} is fully open`,
  closes: (name) => say`there is no moment at which ${name} starts to close`,
  shuts: (name) => say`there is no moment at which ${name} is shut`,
};

/** An event as it stands in messages, with its moment in microseconds, or that there is none. */
export function eventText(name: string, event: DoorEvent, t: number | null): string {
  return t === null ? NEVER[event](name) : AT[event](name, formatTime(t));
}

/** When an event happens in one opening; null where it does not. */
export function momentIn(opening: Opening, event: DoorEvent): number | null {
  if (event === 'opens') return leavesAt(opening);
  if (event === 'opened') return opening.fullyOpen.find((part) => !isSinceBefore(opening, part))?.from ?? null;
  if (event === 'shuts') return opening.notShut.to;
  // A door that never shuts from stroke to stroke starts to close once a stroke: the first counts.
  const ends = opening.commanded.flatMap(({ to }) => (to === null ? [] : [to]));
  return (opening.notShut.to === null ? ends[0] : ends[ends.length - 1]) ?? null;
}

/** The first time an event happens, with the opening it belongs to. */
export function firstMoment(course: Course, door: number, event: DoorEvent): { t: number; opening: Opening } | null {
  for (const opening of openings(course, door)) {
    const t = momentIn(opening, event);
    if (t !== null && t >= 0) return { t, opening };
  }
  return null;
}

function chainOf(opening: Opening, event: DoorEvent): Opening['opensBecause'] {
  return event === 'opens' || event === 'opened' ? opening.opensBecause : opening.closesBecause;
}

function moment(name: string, event: DoorEvent, definition: string): ValueMetric {
  return {
    name,
    kind: 'value',
    parameters: [{ name: 'door', kind: 'door' }],
    dimensions: ['time'],
    definition,
    whenAbsent: 'failed',
    measure(course, args) {
      const door = itemIndex(args[0]);
      const found = firstMoment(course, door, event);
      if (!found) return { kind: 'absent', why: eventText(doorName(course.rig, door), event, null) };
      const why = eventText(doorName(course.rig, door), event, found.t);
      const places = () => timerPlaces(course.rig, chainOf(found.opening, event), why);
      return { kind: 'samples', samples: [{ value: found.t, why, dated: true, places }] };
    },
  };
}

const FROM = 'Counted from the edge of the trigger, in a scenario from its start; the first opening counts.';

export const opensAt = moment('opens_at', 'opens', `When the door leaves its seat. ${FROM}`);
export const openedAt = moment('opened_at', 'opened', `When the door arrives fully open. ${FROM}`);
export const closesAt = moment('closes_at', 'closes', `When the door starts to close. ${FROM}`);
export const shutsAt = moment('shuts_at', 'shuts', `When the door is shut again, travel included. ${FROM}`);
