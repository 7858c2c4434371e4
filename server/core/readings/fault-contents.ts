/**
 * What chambers hold along a course of operations, for looks at a gauge: the rig as followed, sound or faulty, from the contents that it
 * states. Two values of one chamber count as different where two gauges could not show the same.
 */
import { modelFlow } from '../flow/flow-model';
import type { Law } from '../flow/media/law';
import type { StrokePattern } from '../flow/pattern';
import type { Program } from '../flow/program';
import { reading } from '../flow/vessel';
import type { Rig, Sensed, Sensor, Threshold } from '../model/rig';
import { sensorBy } from '../run/sensing';
import { formatAlike } from '../units/units';
import type { Work } from '../work/work';
import { READING_SHARE } from './compare-readings';
import { simulatorWork } from './flow-forward';
import { timesOfLines } from './line-times';
import { operatedLines } from './line-tracks';
import type { RigLog } from './log';
import { expectedPath } from './movements';
import type { SampledColumn } from './samples';
import type { Followed, Stimulus } from './stimulus';
import { say } from '../words/say';

/** What a course of contents shows: on gauges, and of the sensors of the rig as they would see it. */
export interface Contained {
  readonly gauges: readonly Held[];
  /** One a sensor: 1 where it is on, one a moment of `lookTimes`; empty where its reading cannot be followed. */
  readonly sensors: readonly Uint8Array[];
}

/** One chamber along a course. */
export interface Held {
  readonly chamber: number;
  readonly sensed: Sensed;
  /** SI, one a moment of `lookTimes`; NaN where it could not be followed. */
  readonly values: Float64Array;
}

/** What one course of contents counts in a budget of signals and tenths of their changes: some ten milliseconds for the moves of a few strokes. */
const CONTENTS_UNITS = 3_000;
const FEW_MOVES = 20;

/** What following the contents along a course counts: by the moves of doors in it, as each is a stretch of its own to integrate. */
export const contentsUnits = ({ doors }: Followed): number =>
  CONTENTS_UNITS * Math.max(1, doors.reduce((sum, { moves }) => sum + moves.length, 0) / FEW_MOVES);

/** What a gauge shows need not be integrated more closely, as part of what a cell holds. */
const AS_A_GAUGE = 1e-5;

/** Moments of a course at which gauges are looked at. */
const LOOKS = 23;

/** µs, evenly over the course. */
export const lookTimes = ({ length }: Stimulus): number[] =>
  Array.from({ length: LOOKS }, (_, k) => Math.round((length * (k + 1)) / LOOKS));

/** Without gauges where the contents of the rig cannot be followed. In steps. `compiled`: programs of runs with these movements, kept. */
export function* containedWork(
  rig: Rig,
  trace: Followed,
  stimulus: Stimulus,
  compiled = new Map<string, Program>(),
): Work<Contained> {
  const { model } = modelFlow(rig);
  const none: Contained = { gauges: [], sensors: rig.sensors.map(() => new Uint8Array(0)) };
  if (!model) return none;
  const times = lookTimes(stimulus);
  const startOf = (k: number, sensed: Sensed): number | null => {
    const vessel = model.vessels[k];
    return vessel ? reading(model.law, vessel, sensed, model.start[k]!, vessel.temperature) : null;
  };
  const columnOf = (k: number, sensed: Sensed): SampledColumn[] => {
    if (startOf(k, sensed) === null || rig.chambers[k]!.endless) return [];
    const { name } = rig.chambers[k]!;
    const column = { chamber: k, sensed, values: new Float64Array(0), heading: name, unit: '', resolution: 0 };
    return [{ column, samples: times.map((t) => ({ t, moments: [t], value: 0, count: 1 })), noise: 0 }];
  };
  const gauges = rig.chambers.flatMap((_, k) => columnOf(k, gaugeOf(model.law.phase, startOf(k, 'level') !== null)));
  if (gauges.length === 0) return none;
  const thresholds = rig.sensors.flatMap((s) => thresholdsOf(s).flatMap(({ sensed }) => columnOf(s.chamber, sensed)));
  const columns = [...gauges, ...thresholds];
  const options = { relative: AS_A_GAUGE, compiled };
  const found = yield* simulatorWork(rig, model, patternAlong(rig, trace, stimulus), columns, [], options)([]);
  const seen = columns.map(({ column: { chamber, sensed } }, k): Held => ({ chamber, sensed, values: found[k]! }));
  return {
    gauges: seen.slice(0, gauges.length),
    sensors: rig.sensors.map((s) => statesAlong(s, seen, (sensed) => startOf(s.chamber, sensed))),
  };
}

const thresholdsOf = ({ on, clears }: Sensor): Threshold[] => [on, clears].filter((t) => t !== null);

/** What a sensor is at each moment, from what it is by the contents at the start. */
function statesAlong(sensor: Sensor, seen: readonly Held[], start: (sensed: Sensed) => number | null): Uint8Array {
  const valuesOf = ({ sensed }: Threshold): Float64Array | undefined =>
    seen.find((h) => h.chamber === sensor.chamber && h.sensed === sensed)?.values;
  const { length } = (sensor.on && valuesOf(sensor.on)) ?? [];
  let state = sensorBy(sensor, false, ({ sensed }) => start(sensed));
  return Uint8Array.from({ length }, (_, look) => {
    state = sensorBy(sensor, state, (threshold) => valuesOf(threshold)?.[look] ?? null);
    return state ? 1 : 0;
  });
}

function patternAlong(rig: Rig, trace: Followed, stimulus: Stimulus): StrokePattern {
  const course: RigLog = {
    times: Float64Array.of(0, stimulus.length),
    doors: [],
    readings: [],
    states: [],
    gaps: [],
    step: stimulus.length,
    exclusions: [],
  };
  return {
    doors: rig.doors.map((_, d) => expectedPath(trace, d, 0)),
    duration: stimulus.length + 1,
    strokes: 1,
    repeats: false,
    lines: timesOfLines(rig, course, trace.lines, operatedLines(stimulus.scenario, 0)),
  };
}

/** What is read of a chamber: of a gas the pressure, of a liquid the level where its floor is stated. */
const gaugeOf = (phase: Law['phase'], hasLevel: boolean): Sensed =>
  phase === 'gas' ? 'pressure' : phase === 'liquid' && hasLevel ? 'level' : 'mass';

/** How far apart two values of a chamber that holds up to `largest` must be, where each gauge may be off. */
export const gaugeGap = (largest: number): number => 2 * READING_SHARE * largest;

export interface HeldDifference {
  readonly chamber: number;
  readonly sensed: Sensed;
  /** Place in `lookTimes`. */
  readonly look: number;
  readonly expected: number;
  readonly found: number;
}

/** Where a course differs most from the sound one; null where no gauge shows it. */
export function heldDifference(sound: readonly Held[], seen: readonly Held[]): HeldDifference | null {
  let [most, best] = [1, null as HeldDifference | null];
  sound.forEach(({ chamber, sensed, values }, c) => {
    const other = seen[c]!.values;
    const gap = gaugeGap(Math.max(...values.map(Math.abs), ...other.map(Math.abs)));
    values.forEach((expected, look) => {
      const off = Math.abs(other[look]! - expected) / gap;
      if (off > most) [most, best] = [off, { chamber, sensed, look, expected, found: other[look]! }];
    });
  });
  return best;
}

/** Such a difference, with when and in which course, and the sensors (by index) that are on where they should be off, or off, at some moment of any course. */
export interface ContentsDifference extends HeldDifference {
  readonly stimulus: string;
  readonly t: number;
  readonly sensors: readonly number[];
}

/** The same for people. */
export function contentsWords(
  rig: Rig,
  { chamber, sensed, expected, found, stimulus, t }: ContentsDifference,
): { readonly stimulus: string; readonly t: number; readonly words: string } {
  const text = formatAlike([expected, found], sensed === 'level' ? 'length' : sensed);
  return {
    stimulus,
    t,
    words: say`${sensed} in ${rig.chambers[chamber]!.name} is ${text(found)} instead of ${text(expected)}`,
  };
}

/** Where what a chamber holds differs most from the sound rig, both by stimulus; null where no gauge would show it. */
export function contentsDifference(
  stimuli: readonly Stimulus[],
  sound: readonly Contained[],
  seen: readonly Contained[],
): ContentsDifference | null {
  const differs = (k: number): boolean =>
    sound.some(({ sensors }, s) => sensors[k]!.some((state, look) => state !== seen[s]!.sensors[k]![look]));
  for (const [s, stimulus] of stimuli.entries()) {
    const found = heldDifference(sound[s]!.gauges, seen[s]!.gauges);
    if (!found) continue;
    const sensors = sound[s]!.sensors.flatMap((_, k) => (differs(k) ? [k] : []));
    return { ...found, t: lookTimes(stimulus)[found.look]!, stimulus: stimulus.label, sensors };
  }
  return null;
}
