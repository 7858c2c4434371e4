/**
 * How badly readings of chambers suit a rig with a fault: its part of the negative logarithm of the likelihood. The doors move as they were
 * logged (one without a column as the rig followed says), feeds and draws run as in the rig followed, start contents by the first readings.
 */
import { modelFlow } from '../flow/flow-model';
import type { StrokePattern } from '../flow/pattern';
import type { Rig } from '../model/rig';
import { shiftedTrace } from '../timing/trace';
import { firstMove, fittedStarts } from './compare-readings';
import { cutLog, cutStrokes } from './cut-log';
import { simulator, startUnknowns } from './flow-forward';
import { timesOfLines } from './line-times';
import { operatedLines } from './line-tracks';
import type { RigLog } from './log';
import { movementsOf, quietStretches } from './movements';
import { sampledColumns, type SampledColumn } from './samples';
import type { Followed, Stimulus } from './stimulus';

/** What the readings say against a rig whose trace began at `offset` of the log's clock; null where it cannot be followed. */
export type ReadingCost = (faulty: Rig, trace: Followed, offset: number) => number | null;

/** Beside its noise a reading may be off by this part of its column's range: volumes and rates are hardly known better. Own choice, no source. */
const MODEL_SHARE = 0.03;
/** What the model leaves out lasts: a column tells no more than this number of independent readings, each no more than this much. */
const [MOST_TELLING, MOST_COST] = [12, 8];

/** Null where no chamber of the rig was read, or the rig has no flow to compute. */
export function readingCosts(rig: Rig, log: RigLog, stimulus: Stimulus): ReadingCost | null {
  if (log.readings.length === 0 || !modelFlow(rig).model) return null;
  const whole = log.gaps.length > 0 ? cutLog(log, log.gaps[0]!.from) : log;
  const read = cutStrokes(rig, whole);
  if (read.times.length < 3) return null;
  const end = read.times.at(-1)! - read.times[0]!;
  return (faulty, trace, offset) => {
    const { model } = modelFlow(faulty);
    if (!model) return null;
    const shifted = shiftedTrace(trace, offset);
    const { doors } = movementsOf(faulty, read, shifted, new Set())!;
    const columns = sampledColumns(read, read.readings, quietStretches(doors, end), []);
    const unknowns = startUnknowns(model, faulty, columns);
    const tracks = trace.lines.map(({ initial, changes }) => ({
      initial,
      changes: changes.map(({ t, on }) => ({ t: t + offset, on })),
    }));
    const lines = timesOfLines(faulty, read, tracks, operatedLines(stimulus.scenario, offset));
    const pattern: StrokePattern = { doors, duration: end + 1, strokes: 1, repeats: false, lines };
    const along = (of: readonly SampledColumn[]) => simulator(faulty, model, pattern, of, unknowns);
    const found = along(columns)(fittedStarts(columns, unknowns, along, firstMove(doors, end)));
    return columns.reduce((sum, { samples, noise }, c) => {
      const values = samples.map((s) => s.value);
      const range =
        values.reduce((a, b) => Math.max(a, b), -Infinity) - values.reduce((a, b) => Math.min(a, b), Infinity);
      const costs = samples.map((s, k) => {
        const sigma = Math.hypot(noise / Math.sqrt(s.count), MODEL_SHARE * Math.max(range, noise));
        return Math.min(MOST_COST, 0.5 * ((found[c]![k]! - s.value) / Math.max(sigma, 1e-12)) ** 2);
      });
      const mean = costs.reduce((a, b) => a + b, 0) / Math.max(1, costs.length);
      return sum + Math.min(costs.length, MOST_TELLING) * mean;
    }, 0);
  };
}
