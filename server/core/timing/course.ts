/**
 * Reading what the event engine recorded. A course of events is one stroke from its trigger with its repeats, the rig at rest, or a
 * scenario: openings of doors with why they open and close, pulses of nets, moments of doors.
 *
 * Everything above (metrics, checks, diagram, sheet, comparison with logs) reads traces through this file, so that an opening, a pulse or
 * "the path stands open" means the same to all of them. Nothing is judged here. Chains of causes are getters: they grow with the number
 * of doors that set each other off, and most readers want the times alone.
 */
import { doesArrive, lastAt } from '../model/motion';
import type { Condition, DoorEvent, Rig } from '../model/rig';
import { fold } from '../model/logic';
import { ventsOfPath } from '../model/intent';
import type { Vent } from '../model/intent';
import type { Path } from '../model/stages';
import { causesOfMove, chainOf } from './causes';
import { lengthOf, meet } from './intervals';
import type { CauseLink, Interval, StrokeFacts, TimingFacts } from './facts';
import type { DoorTrack, Trace } from './trace';
import { complement, intersectAll, openStretches } from './windows';
import type { OpenStretch } from './windows';
import { sinceTrigger, spanText } from './words';
import { formatTime } from '../units/units';
import { say } from '../words/say';

/** One opening of a door, in its strengths, with why it opens and closes (computed when read; empty where it does not). */
export interface Opening {
  readonly door: number;
  readonly notShut: Interval;
  /** It was off its seat already as the trace begins. */
  readonly openBefore: boolean;
  readonly fullyOpen: readonly Interval[];
  readonly commanded: readonly Interval[];
  readonly opensBecause: readonly CauseLink[];
  readonly closesBecause: readonly CauseLink[];
}

export interface Course {
  readonly rig: Rig;
  /** What its times count from: "after ready goes on", "in scenario morning". */
  readonly label: string;
  readonly trace: Trace;
  /** Openings of each door in order, over the whole trace: the pattern and its first repeat. */
  readonly openings: readonly (readonly Opening[])[];
  /** Openings that begin from here on are copies of earlier ones. */
  readonly repeatsFrom: number;
  /** Null where it is not a stroke. */
  readonly stroke: StrokeFacts | null;
}

/** The course that a trace records. */
export function courseOf(rig: Rig, trace: Trace, label: string, stroke: StrokeFacts | null): Course {
  const openings = trace.doors.map((track, door) =>
    openStretches(track, trace.start, trace.end).map((s) => openingOf(rig, trace, door, s)),
  );
  return { rig, label, trace, openings, repeatsFrom: stroke?.pattern?.to ?? Infinity, stroke };
}

function openingOf(rig: Rig, trace: Trace, door: number, s: OpenStretch): Opening {
  const because = (index: number): readonly CauseLink[] => {
    const move = trace.doors[door]!.moves[index];
    return move ? causesOfMove(rig, trace, door, move) : [];
  };
  return {
    door,
    notShut: s.notShut,
    openBefore: s.openBefore,
    fullyOpen: s.fullyOpen,
    commanded: s.commanded,
    get opensBecause() {
      return because(s.opening);
    },
    get closesBecause() {
      return because(s.closing);
    },
  };
}

/** A rig with what is known of its timing. */
export interface TimedRig {
  readonly rig: Rig;
  readonly timing: TimingFacts;
}

/** Kept by stroke. Asked for with another rig object, a stroke gets a course anew, so that names and places are those of that rig. */
const COURSES = new WeakMap<StrokeFacts, Course>();

/** The courses of the default strokes, one per trigger. */
export function strokeCourses({ rig, timing }: TimedRig): Course[] {
  return timing.strokes.map((stroke) => {
    const known = COURSES.get(stroke);
    if (known?.rig === rig) return known;
    const course = courseOf(rig, stroke.trace, sinceTrigger(stroke), stroke);
    COURSES.set(stroke, course);
    return course;
  });
}

/** The rig waiting for its trigger. */
export function restCourse({ rig, timing }: TimedRig): Course {
  return courseOf(rig, timing.atRest.trace, say`while no sensor changes`, null);
}

/** Openings of a door, each different one once, in order; of one that lasts from stroke to stroke, what is before the repeat. */
export function openings(course: Course, door: number): readonly Opening[] {
  const before = (i: Interval): boolean => i.from < course.repeatsFrom;
  return (course.openings[door] ?? []).filter((o) => before(o.notShut)).map((o) => beforeRepeat(o, before));
}

/** Without this, the copy that the end of the trace cuts off would read as one that has no end. */
function beforeRepeat(opening: Opening, before: (i: Interval) => boolean): Opening {
  if (opening.notShut.to !== null || [...opening.fullyOpen, ...opening.commanded].every(before)) return opening;
  const { door, notShut, openBefore, fullyOpen, commanded } = opening;
  return {
    door,
    notShut,
    openBefore,
    fullyOpen: fullyOpen.filter(before),
    commanded: commanded.filter(before),
    get opensBecause() {
      return opening.opensBecause;
    },
    get closesBecause() {
      return opening.closesBecause;
    },
  };
}

/** What says when an opening begins. */
type Beginning = Pick<Opening, 'notShut' | 'openBefore'>;

/** When the door leaves its seat; null where that was before the trace begins. */
export const leavesAt = ({ notShut, openBefore }: Beginning): number | null => (openBefore ? null : notShut.from);

/** Whether a part of an opening (fully open, commanded) has lasted since before the trace begins. */
export const isSinceBefore = ({ notShut, openBefore }: Beginning, part: Interval): boolean =>
  openBefore && part.from === notShut.from;

/** Length of an opening or a part of it; `Infinity` of one that has no end, or has lasted since before the trace: the rig may wait any length of time. */
export const lengthIn = (opening: Beginning, part: Interval): number =>
  isSinceBefore(opening, part) ? Infinity : lengthOf(part);

/** "from 2.2 s to 2.45 s", "until 300 ms" of a part that has lasted since before the trace. */
export function partText(opening: Beginning, part: Interval): string {
  if (!isSinceBefore(opening, part)) return spanText(part);
  return part.to === null ? say`all the time` : say`until ${formatTime(part.to)}`;
}

/** Times when a net is on; the last has no end where the trace ends first. Zero-width pulses are included. */
export function pulsesOf(trace: Trace, net: number): Interval[] {
  const pulses: Interval[] = [];
  // `since` is when the net last went on, null while it is off: edges of one net alternate, but a wide pulse may span the start.
  let since: number | null = trace.initial[net] ? trace.start : null;
  for (const edge of trace.edges) {
    if (edge.net !== net) continue;
    if (edge.value) since ??= edge.t;
    else if (since !== null) {
      pulses.push({ from: since, to: edge.t });
      since = null;
    }
  }
  if (since !== null) pulses.push({ from: since, to: null });
  return pulses;
}

/** Times when a condition is true; a door by its name stands for "not shut". Pulses of no width count for nothing. */
export function whenTrue(trace: Trace, condition: Condition): Interval[] {
  const outside = (list: readonly Interval[]): Interval[] => complement(list, trace.start, Infinity);
  const both = (a: readonly Interval[], b: readonly Interval[]): Interval[] => intersectAll([a, b]);
  // Sets of instants instead of values: `and` is intersection, `not` the complement up to infinity, `or` by De Morgan's law. Intervals
  // stay ascending and apart under all of them, except xor, which is sorted.
  return fold<Interval[]>(condition, {
    net: (net) => pulsesOf(trace, net).filter((i) => lengthOf(i) > 0),
    door: (door) => openStretches(trace.doors[door]!, trace.start, trace.end).map((s) => s.notShut),
    const: (value) => (value ? [{ from: trace.start, to: null }] : []),
    not: outside,
    and: both,
    or: (a, b) => outside(both(outside(a), outside(b))),
    xor: (a, b) => [...both(a, outside(b)), ...both(outside(a), b)].sort((x, y) => x.from - y.from),
  });
}

/** Value of a net just after `t`. */
export function netAt(trace: Trace, net: number, t: number): boolean {
  // The last edge at or before t decides: values are right-continuous.
  for (let i = lastAt(trace.edges, t); i >= 0; i--) if (trace.edges[i]!.net === net) return trace.edges[i]!.value;
  return trace.initial[net]!;
}

/** Every event of a door, in order of time: it leaves its seat, is fully open, starts to close from there, is shut. */
export function doorEvents(track: DoorTrack): { readonly t: number; readonly event: DoorEvent }[] {
  return track.moves.flatMap((move, i) => {
    // A door turned round midway neither "opens" nor "closes" anew: those two are events of leaving an end position.
    const ends: DoorEvent = move.to === 1 ? 'opened' : 'shuts';
    const begins: DoorEvent[] = move.to === 1 ? (move.from === 0 ? ['opens'] : []) : move.from === 1 ? ['closes'] : [];
    const begun = begins.map((event) => ({ t: move.t, event }));
    return doesArrive(track, i) ? [...begun, { t: move.arrives, event: ends }] : begun;
  });
}

/** When a door does one of them. */
export function momentsOfDoor(track: DoorTrack, event: DoorEvent): number[] {
  return doorEvents(track).flatMap((e) => (e.event === event ? [e.t] : []));
}

/**
 * When a path stands open without being meant to: all its doors off their seats, but not from the moment when a switch that vents it is
 * thrown (or where that switch has opened it) until it is shut again.
 */
export function pathOpen(rig: Rig, trace: Trace, path: Path): Interval[] {
  const stretches = path.doors.map((d) => openStretches(trace.doors[d]!, trace.start, trace.end));
  const open = intersectAll(stretches.map((list) => list.map((s) => s.notShut)));
  return ventsOfPath(rig, path).reduce<Interval[]>(
    (left, vent) => left.flatMap((interval) => beforeVenting(trace, path, vent, interval)),
    open,
  );
}

/** What of an open stretch comes before its vent is thrown. */
function beforeVenting(trace: Trace, path: Path, vent: Vent, open: Interval): Interval[] {
  // The switch may act within the same instant, before its own edge has an interval of any length: then causes tell.
  if (path.doors.some((door) => isOpenedBy(trace, door, open.from, vent.net))) return [];
  const thrown = thrownTimes(trace, vent).find((t) => meet(t, open) !== null);
  if (!thrown) return [open];
  return thrown.from > open.from ? [{ from: open.from, to: thrown.from }] : [];
}

/** Times when a vent is thrown. */
export function thrownTimes(trace: Trace, vent: Vent): Interval[] {
  const on = pulsesOf(trace, vent.net).filter((pulse) => lengthOf(pulse) > 0);
  return vent.thrown ? on : complement(on, trace.start, Infinity);
}

/** Whether a door's opening that begins at `t` follows from a change of the net. */
function isOpenedBy(trace: Trace, door: number, t: number, net: number): boolean {
  const move = trace.doors[door]!.moves.find((m) => m.t === t && m.to === 1);
  return move !== undefined && chainOf(trace.edges, move.cause).some((edge) => trace.edges[edge]!.net === net);
}
