/**
 * What chambers hold along a course of operations, for looks at a gauge: the rig as followed, sound or faulty, from the contents that it
 * states. Two values of one chamber count as different where two gauges could not show the same.
 */
import { modelFlow } from '../flow/flow-model';
import type { Law } from '../flow/media/law';
import { reading } from '../flow/vessel';
import type { Rig, Sensed } from '../model/rig';
import { formatAlike } from '../units/units';
import { READING_SHARE } from './compare-readings';
import { simulator } from './flow-forward';
import { timesOfLines } from './line-times';
import { operatedLines } from './line-tracks';
import type { RigLog } from './log';
import { expectedPath } from './movements';
import type { SampledColumn } from './samples';
import type { Followed, Stimulus } from './stimulus';

/** One chamber along a course. */
export interface Held {
  readonly chamber: number;
  readonly sensed: Sensed;
  /** SI, one a moment of `lookTimes`; NaN where it could not be followed. */
  readonly values: Float64Array;
}

/** What one course of contents counts in a budget of signals and tenths of their changes: some ten milliseconds. */
export const CONTENTS_UNITS = 3_000;

/** Moments of a course at which gauges are looked at. */
const LOOKS = 23;

/** µs, evenly over the course. */
export const lookTimes = ({ length }: Stimulus): number[] =>
  Array.from({ length: LOOKS }, (_, k) => Math.round((length * (k + 1)) / LOOKS));

/** Empty where the contents of the rig cannot be followed. */
export function heldAlong(rig: Rig, trace: Followed, stimulus: Stimulus): readonly Held[] {
  const { model } = modelFlow(rig);
  if (!model) return [];
  const times = lookTimes(stimulus);
  const columns = rig.chambers.flatMap((chamber, k): SampledColumn[] => {
    const vessel = model.vessels[k]!;
    const shows = (sensed: Sensed): boolean =>
      reading(model.law, vessel, sensed, model.start[k]!, vessel.temperature) !== null;
    const sensed = gaugeOf(model.law.phase, shows('level'));
    if (chamber.endless || !shows(sensed)) return [];
    const column = { chamber: k, sensed, values: new Float64Array(0), heading: chamber.name, unit: '', resolution: 0 };
    return [{ column, samples: times.map((t) => ({ t, moments: [t], value: 0, count: 1 })), noise: 0 }];
  });
  if (columns.length === 0) return [];
  const course: RigLog = {
    times: Float64Array.of(0, stimulus.length),
    doors: [],
    readings: [],
    states: [],
    gaps: [],
    step: stimulus.length,
    exclusions: [],
  };
  const pattern = {
    doors: rig.doors.map((_, d) => expectedPath(trace, d, 0)),
    duration: stimulus.length + 1,
    strokes: 1,
    repeats: false,
    lines: timesOfLines(rig, course, trace.lines, operatedLines(stimulus.scenario, 0)),
  };
  const found = simulator(rig, model, pattern, columns, [])([]);
  return columns.map(({ column: { chamber, sensed } }, k) => ({ chamber, sensed, values: found[k]! }));
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

/** Such a difference, with when and in which course. */
export interface ContentsDifference extends HeldDifference {
  readonly stimulus: string;
  readonly t: number;
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
    words: `${sensed} in ${rig.chambers[chamber]!.name} is ${text(found)} instead of ${text(expected)}`,
  };
}

/** Where what a chamber holds differs most from the sound rig; null where no gauge would show it. */
export function contentsDifference(
  faulty: Rig,
  stimuli: readonly Stimulus[],
  sound: readonly Followed[],
  soundHeld: readonly (readonly Held[])[],
): ContentsDifference | null {
  for (const [s, stimulus] of stimuli.entries()) {
    const found = heldDifference(soundHeld[s]!, heldAlong(faulty, sound[s]!, stimulus));
    if (found) return { ...found, t: lookTimes(stimulus)[found.look]!, stimulus: stimulus.label };
  }
  return null;
}
