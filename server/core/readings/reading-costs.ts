/**
 * How badly readings of chambers suit a rig with a fault: its part of the negative logarithm of the likelihood. The doors move as they were
 * logged (one without a column as the rig followed says), feeds and draws run as in the rig followed, start contents by the first readings.
 */
import { modelFlow } from '../flow/flow-model';
import type { DoorPath, StrokePattern } from '../flow/pattern';
import type { Program } from '../flow/program';
import type { WorkBudget } from '../model/budget';
import type { Rig } from '../model/rig';
import { shiftedTrace } from '../timing/trace';
import type { Work } from '../work/work';
import { firstMove, fittedStarts } from './compare-readings';
import { cutLog, cutStrokes } from './cut-log';
import { simulatorWork, startUnknowns } from './flow-forward';
import { timesOfLines } from './line-times';
import { operatedLines } from './line-tracks';
import type { RigLog } from './log';
import { movementReader, quietStretches } from './movements';
import { sampledColumns, type SampledColumn } from './samples';
import type { Followed, Stimulus } from './stimulus';

/** What the readings say against a rig whose trace began at `offset` of the log's clock; null where it cannot be followed. In steps, counted. */
export type ReadingCost = (faulty: Rig, trace: Followed, offset: number, budget: WorkBudget) => Work<number | null>;

/** Beside its noise a reading may be off by this part of its column's range: volumes and rates are hardly known better. Own choice, no source. */
const MODEL_SHARE = 0.03;
/** What the model leaves out lasts: a column tells no more than this number of independent readings, each no more than this much. */
const [MOST_TELLING, MOST_COST] = [12, 8];

/** What one cell of the rig between two moments of the readings counts in a budget of signals and tenths of their changes. */
const CELL_UNITS = 1;

/** Samples of a column while doors move: more would tell no more of which fault it is. */
const MOST_SAMPLES = 150;
/** What a chamber held at the start is nearly linear in what was read: more steps of the fit would change nothing. */
const START_STEPS = 3;

/** Null where no chamber of the rig was read, or the rig has no flow to compute. */
export function readingCosts(rig: Rig, log: RigLog, stimulus: Stimulus): ReadingCost | null {
  if (log.readings.length === 0 || !modelFlow(rig).model) return null;
  const whole = log.gaps.length > 0 ? cutLog(log, log.gaps[0]!.from) : log;
  const read = cutStrokes(rig, whole);
  if (read.times.length < 3) return null;
  const end = read.times.at(-1)! - read.times[0]!;
  const movements = movementReader(read);
  const sampled = new Map<string, SampledColumn[]>();
  const samplesFor = (doors: readonly DoorPath[]): SampledColumn[] => {
    const quiet = quietStretches(doors, end);
    const key = JSON.stringify(quiet);
    const found = sampled.get(key) ?? sampledColumns(read, read.readings, quiet, [], MOST_SAMPLES);
    sampled.set(key, found);
    return found;
  };
  // No fault changes what a rig is built of: whatever moves and runs alike is compiled once.
  const known = new Map<string, Map<string, Program>>();
  const programsFor = (pattern: string): Map<string, Program> => {
    const found = known.get(pattern) ?? new Map<string, Program>();
    known.set(pattern, found);
    return found;
  };
  return function* (faulty, trace, offset, budget) {
    const { model } = modelFlow(faulty);
    if (!model) return null;
    const { doors } = movements(faulty, shiftedTrace(trace, offset), new Set())!;
    const columns = samplesFor(doors);
    const unknowns = startUnknowns(model, faulty, columns);
    const tracks = trace.lines.map(({ initial, changes }) => ({
      initial,
      changes: changes.map(({ t, on }) => ({ t: t + offset, on })),
    }));
    const lines = timesOfLines(faulty, read, tracks, operatedLines(stimulus.scenario, offset));
    const pattern: StrokePattern = { doors, duration: end + 1, strokes: 1, repeats: false, lines };
    const compiled = programsFor(JSON.stringify([doors, lines]));
    const spend = (cells: number): void => void budget.spend(CELL_UNITS * cells);
    const along = (of: readonly SampledColumn[]) =>
      simulatorWork(faulty, model, pattern, of, unknowns, { compiled, spend });
    const starts = yield* fittedStarts(columns, unknowns, along, firstMove(doors, end), START_STEPS);
    const found = yield* along(columns)(starts);
    return columns.reduce((sum, column, c) => sum + costOf(column, found[c]!), 0);
  };
}

function costOf({ samples, noise }: SampledColumn, found: Float64Array): number {
  const values = samples.map((s) => s.value);
  const range = values.reduce((a, b) => Math.max(a, b), -Infinity) - values.reduce((a, b) => Math.min(a, b), Infinity);
  const costs = samples.map((s, k) => {
    const sigma = Math.hypot(noise / Math.sqrt(s.count), MODEL_SHARE * Math.max(range, noise));
    return Math.min(MOST_COST, 0.5 * ((found[k]! - s.value) / Math.max(sigma, 1e-12)) ** 2);
  });
  const mean = costs.reduce((a, b) => a + b, 0) / Math.max(1, costs.length);
  return Math.min(costs.length, MOST_TELLING) * mean;
}
