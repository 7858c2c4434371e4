/**
 * What the rig does while its sensors stay as they are: for each combination of sensor values that comes up, the door movements from
 * rest and the pattern they settle into. Lets thousands of strokes be followed without stepping the control network for each.
 */
import type { StrokePattern } from '../flow/pattern';
import { drivesOfLine } from '../model/logic';
import { positionBefore } from '../model/motion';
import type { Rig } from '../model/rig';
import type { Engine } from '../timing/engine';
import { createEngine, initialInputs } from '../timing/engine';
import type { Pattern } from '../timing/pattern';
import { closePattern, doorsAreQuiet } from '../timing/pattern';
import { patternOf, throughEnd } from './door-pattern';

export interface Mode {
  /** Movements from rest until the pattern begins (or all is quiet); null where no door moves then. */
  readonly first: StrokePattern | null;
  /** The pattern that repeats while the sensors stay; null where the rig stands still. */
  readonly cycle: StrokePattern | null;
  /** On-times of lines while it stands still are those at the end of `first`: on or off. */
  readonly linesAtRest: readonly boolean[];
  /** False where the control network did not settle. */
  readonly known: boolean;
}

const EDGE_BUDGET = 20_000;

/** The mode for sensor values, and for those that the rig saw before (null: it has just woken). */
export type Modes = (sensors: readonly boolean[], before: readonly boolean[] | null) => Mode;

/** Modes of a rig by sensor values, computed once each. Switches stay as declared, but those that are thrown at the start. */
export function modesOf(rig: Rig, thrown: ReadonlyMap<number, boolean> = new Map()): Modes {
  const known = new Map<string, Mode>();
  return (sensors, before) => {
    const key = [...sensors, 2, ...(before ?? [])].map(Number).join('');
    let mode = known.get(key);
    if (!mode) known.set(key, (mode = modeOf(rig, sensors, before, thrown)));
    return mode;
  };
}

function modeOf(
  rig: Rig,
  sensors: readonly boolean[],
  before: readonly boolean[] | null,
  thrown: ReadonlyMap<number, boolean>,
): Mode {
  const sensorOf = new Map(rig.sensors.map((s, index) => [s.net, index]));
  const byDefault = initialInputs(rig);
  // The rig wakes with every sensor off as far as the sensors allow, then sees them: an edge is what starts it.
  const engine = createEngine(rig, {
    budget: EDGE_BUDGET,
    inputs: (net) => (sensorOf.has(net) ? false : byDefault(net)),
  });
  closePattern(engine);
  if (engine.stopped) return NONE(rig);
  // As in the strokes of timing, sensors turn at a scan: a state is known by the scan that shows it, and so is its return.
  engine.alignToScan();
  engine.rebase();
  thrown.forEach((on, net) => engine.setInput(net, on));
  if (before) {
    before.forEach((on, index) => on && engine.setInput(rig.sensors[index]!.net, true));
    toQuiet(rig, engine, closePattern(engine));
    if (engine.stopped) return NONE(rig);
    engine.alignToScan();
    engine.rebase();
  }
  sensors.forEach((on, index) => {
    if (on !== (before?.[index] ?? false)) engine.setInput(rig.sensors[index]!.net, on);
  });
  const pattern = closePattern(engine);
  if (engine.stopped) return NONE(rig);
  if (pattern.from === null || pattern.to === null) {
    // Parts of the rig that each repeat at an interval of their own have no pattern in common: that is not to stand still.
    if (!doorsAreQuiet(engine, pattern)) return NONE(rig);
    const trace = engine.trace();
    const moved = trace.doors.some((track) => track.moves.length > 0);
    const first = moved ? counted(patternOf(rig, trace, 0, throughEnd(trace, trace.end), 1, false)) : null;
    return { first, cycle: null, linesAtRest: linesOn(rig, (net) => engine.value(net)), known: true };
  }
  const period = pattern.to - pattern.from;
  engine.advanceTo(pattern.to + period);
  const trace = engine.trace();
  const from = cycleStart(rig, trace, pattern.from, pattern.to);
  const cycle = patternOf(rig, trace, from, from + period, 1, true);
  if (standsStill(cycle)) {
    const moved = trace.doors.some((track) => track.moves.some((m) => m.t < from));
    const first = moved ? counted(patternOf(rig, trace, 0, from, 1, false)) : null;
    return { first, cycle: null, linesAtRest: linesOn(rig, (net) => engine.value(net)), known: true };
  }
  return {
    first: from > 0 ? counted(patternOf(rig, trace, 0, from, 1, false)) : null,
    cycle: counted(cycle),
    linesAtRest: linesOn(rig, (net) => engine.value(net)),
    known: true,
  };
}

/** Goes on to the moment in the pattern at which the last door has come to rest: sensors have seen the whole stroke by then. */
function toQuiet(rig: Rig, engine: Engine, { from, to }: Pattern): void {
  if (from === null || to === null || engine.stopped) return;
  const period = to - from;
  engine.advanceTo(to + period);
  const { doors } = engine.trace();
  const rest = rig.doors.map((door) => (door.rest === 'open' ? 1 : 0));
  const isQuiet = (t: number): boolean =>
    doors.every((track, door) => {
      const last = track.moves.filter((m) => m.t <= t).pop();
      return last ? last.to === rest[door] && last.arrives <= t : track.initial === rest[door];
    });
  const stops = doors.flatMap((track) => track.moves.map((m) => m.arrives)).filter((t) => t >= from && t < to);
  const quiet = stops.sort((a, b) => a - b).find(isQuiet);
  if (quiet === undefined) return;
  engine.advanceTo(quiet + period * Math.ceil((engine.now - quiet) / period));
}

const NONE = (rig: Rig): Mode => ({ first: null, cycle: null, linesAtRest: rig.lines.map(() => true), known: false });

function linesOn(rig: Rig, on: (net: number) => boolean): boolean[] {
  return rig.lines.map((_, line) => {
    const drives = drivesOfLine(rig, line);
    return drives.length === 0 || drives.some((d) => on(d.net));
  });
}

/** A moment in the pattern at which all doors are at rest, if there is one: a stroke should not be cut in two. */
function cycleStart(rig: Rig, trace: Parameters<typeof patternOf>[1], from: number, to: number): number {
  const rest = rig.doors.map((door) => (door.rest === 'open' ? 1 : 0));
  const quiet = (t: number): boolean => trace.doors.every((track, door) => positionBefore(track, t) === rest[door]);
  const starts = trace.doors.flatMap((track) => track.moves.map((m) => m.t)).filter((t) => t >= from && t < to);
  return starts.sort((a, b) => a - b).find(quiet) ?? from;
}

/** Whether only signals turn in a pattern: doors, feeds and draws stay as they are. */
const standsStill = ({ doors, lines, duration }: StrokePattern): boolean =>
  doors.every(({ moves }) => moves.length === 0) &&
  lines.every((on) => on.length === 0 || (on.length === 1 && on[0]![0] === 0 && on[0]![1] === duration));

const counted = (pattern: StrokePattern): StrokePattern => ({ ...pattern, strokes: openingsOf(pattern) });

/** Openings of the door that opens most seldom among those that open: strokes in the pattern. */
function openingsOf(pattern: StrokePattern): number {
  const counts = pattern.doors.map((path) => path.moves.filter((m) => m.to === 1).length).filter((n) => n > 0);
  return counts.length > 0 ? Math.min(...counts) : 0;
}
