/**
 * What the readings of the chambers tell about the flow: discharge and leak of doors, fraction moved per stroke. One forward model, that of
 * `flow`, run along the logged movements of the doors from start contents that are fitted as well; every reading counts by its own noise.
 */
import { modelFlow } from '../flow/flow-model';
import { SHARP_EDGED } from '../flow/nozzle';
import type { DoorPath, StrokePattern } from '../flow/pattern';
import type { Rig } from '../model/rig';
import { exact, simulator, startUnknowns, type FlowTarget, type Unknown } from './flow-forward';
import { fitLeastSquares, inverseOf, type Fit } from './least-squares';
import type { ReadingColumn, RigLog } from './log';
import { moveMoments, type MoveMoments } from './move-moments';
import { quietStretches, type Movements } from './movements';
import { rampsOf } from './ramps';
import { sampledColumns, type SampledColumn } from './samples';
import { estimate, medianOf, type Estimate } from './statistics';
import { momentDeviation, travelFit } from './travel-fit';

export interface FlowFit {
  readonly fitted: readonly { readonly target: FlowTarget; readonly estimate: Estimate | null; readonly why: string }[];
  readonly columns: readonly ColumnFit[];
  /** As in `MoveMoments`. */
  readonly falls: MoveMoments['falls'];
}

/** How well one column of readings is met. */
export interface ColumnFit {
  readonly column: ReadingColumn;
  readonly points: readonly { readonly t: number; readonly measured: number; readonly fitted: number }[];
  /** Root mean square of the residuals and of the noise of the readings by themselves, SI. */
  readonly rms: number;
  readonly noise: number;
}

/** Rounds in which the noise of each column is taken anew from its residuals. */
const ROUNDS = 3;
/** A figure known to less than this part of itself is not reported. */
const POOR = 0.2;

/** Null where the rig has no model of flow, or nothing is asked. */
export function fitFlow(
  rig: Rig,
  log: RigLog,
  movements: Movements,
  targets: readonly FlowTarget[],
  lineSeconds: StrokePattern['lines'],
): FlowFit | null {
  if (targets.length === 0 || log.readings.length === 0) return null;
  const first = targets.reduce((r, t) => stated(r, t), rig);
  const { model } = modelFlow(first);
  if (!model) return null;
  const end = log.times.at(-1)! - log.times[0]!;
  const moments = moveMoments(first, log, movements);
  const doors = movements.doors.map((path, d) => moments.paths.get(d) ?? path);
  const quiet = splitAt(quietStretches(movements.doors, end), moments.jumps);
  const columns = sampledColumns(log, log.readings, quiet, moments.jumps);
  const unknowns = [...targets.map((t) => unknownOf(first, t)), ...startUnknowns(model, first, columns)];
  const pattern: StrokePattern = { doors, duration: end + 1, strokes: 1, repeats: false, lines: lineSeconds };
  const along = (doors: readonly DoorPath[]) => simulator(first, model, { ...pattern, doors }, columns, unknowns);
  const fit = solved(columns, unknowns, along(doors));
  const shift = shifts(log, doors, fit, along);
  const fitted = targets.map((target, k) => ({ target, ...answer(fit, k, unknowns[k]!, columns, shift) }));
  return { columns: fit.columns, fitted, falls: moments.falls };
}

/** What each figure would change by, in deviations of the moments at which the doors moved: they are known from the log no better. */
function shifts(
  log: RigLog,
  doors: readonly DoorPath[],
  fit: Solved,
  along: (doors: readonly DoorPath[]) => (values: readonly number[]) => Float64Array[],
): number[] {
  const { inverse, jacobian, residuals } = fit.fit;
  const variance = fit.fit.values.map(() => 0);
  if (!inverse) return variance;
  /** Squared changes of the figures where the door moves otherwise. */
  const add = (door: number, moves: DoorPath['moves'], share: number): void => {
    if (moves.some((m, k) => k > 0 && m.t < moves[k - 1]!.arrives)) return;
    const moved = doors.map((p, k) => (k === door ? { ...p, moves } : p));
    const change = fit.weighted(along(moved)(fit.fit.values)).map((r, k) => r - residuals[k]!);
    const gradient = jacobian.map((a) => a.reduce((sum, v, k) => sum + v * change[k]!, 0));
    inverse.forEach((row, k) => {
      const together = row.reduce((sum, v, i) => sum + v * gradient[i]!, 0);
      variance[k]! += share * together ** 2;
    });
  };
  for (const column of log.doors) {
    const ramps = rampsOf(log, column);
    for (const to of [1, 0] as const) {
      const own = ramps.filter((r) => r.opens === (to === 1));
      if (own.length === 0) continue;
      const { moves } = doors[column.door]!;
      const shifted = (early: number, late: number): DoorPath['moves'] =>
        moves.map((m) =>
          m.to === to ? { ...m, t: m.t + early, arrives: Math.max(m.t + early, m.arrives + late) } : m,
        );
      const by = Math.round(momentDeviation(log, column, own));
      // All passages together would move it by this much; each moves by itself.
      if (by >= 1) add(column.door, shifted(by, by), 1 / own.length);
      // The travel is that of all of them: it begins as much earlier as it ends later.
      const half = Math.round(0.5 * (travelFit(log, column, to === 1, ramps).travel?.deviation ?? 0));
      if (half >= 1) add(column.door, shifted(-half, half), 1);
    }
  }
  return variance.map(Math.sqrt);
}

const splitAt = (stretches: readonly { from: number; to: number }[], moments: readonly number[]) =>
  stretches.flatMap(({ from, to }) => {
    const cuts = [from, ...moments.filter((t) => t > from && t < to), to];
    return cuts.slice(1).map((end, k) => ({ from: cuts[k]!, to: end }));
  });

interface Solved {
  readonly fit: Fit;
  readonly columns: readonly ColumnFit[];
  /** Residuals in the deviations of the fit. */
  readonly weighted: (found: readonly Float64Array[]) => number[];
}

function solved(
  columns: readonly SampledColumn[],
  unknowns: readonly Unknown[],
  follow: (values: readonly number[]) => Float64Array[],
): Solved {
  const simulate = remembered(follow, 2 * unknowns.length + 4);
  let sigma = columns.map((c) => c.noise);
  let values = unknowns.map((u) => u.parameter.start);
  let fit: Fit | null = null;
  const weighted = (found: readonly Float64Array[]): number[] =>
    columns.flatMap(({ samples }, c) =>
      samples.map((s, k) => (Math.sqrt(s.count) * (found[c]![k]! - s.value)) / sigma[c]!),
    );
  for (let round = 0; round < ROUNDS; round++) {
    const parameters = unknowns.map((u, k) => ({ ...u.parameter, start: values[k]! }));
    fit = fitLeastSquares((v) => weighted(simulate(v)), parameters, 25);
    values = [...fit.values];
    const next = noiseOf(columns, fit, sigma, unknowns.length);
    const settled = next.every((s, c) => Math.abs(s - sigma[c]!) < 0.02 * sigma[c]!);
    if (settled) break;
    fit = rescaled(fit, columns, sigma, next);
    sigma = next;
  }
  const found = simulate(values);
  return {
    fit: fit!,
    weighted,
    columns: columns.map((c, i) => columnFit(c, found[i]!, sigma[i]!)),
  };
}

/** The same function, which knows its last answers: each round begins where the one before ended, with the same derivatives. */
function remembered<T>(of: (values: readonly number[]) => T, most: number): (values: readonly number[]) => T {
  const known = new Map<string, T>();
  return (values) => {
    const key = values.join(' ');
    const found = known.get(key) ?? of(values);
    known.delete(key);
    known.set(key, found);
    if (known.size > most) known.delete(known.keys().next().value!);
    return found;
  };
}

/** Noise of each column from its own residuals, never below what its digits show. */
function noiseOf(columns: readonly SampledColumn[], fit: Fit, sigma: readonly number[], unknowns: number): number[] {
  const total = columns.reduce((n, c) => n + c.samples.length, 0);
  let at = 0;
  return columns.map(({ samples, column }, c) => {
    const own = fit.residuals.slice(at, (at += samples.length));
    // Beyond three deviations a residual counts as three: one outlier makes no noise.
    const limit = 3 * Math.max(1, medianOf(own.map(Math.abs)) / 0.6745);
    const square = own.reduce((sum, r) => sum + Math.min(r * r, limit * limit), 0);
    const free = samples.length * (1 - unknowns / Math.max(total, unknowns + 1));
    const floor = column.resolution / Math.sqrt(12);
    return Math.max(sigma[c]! * Math.sqrt(square / Math.max(free, 1)), floor, 1e-12);
  });
}

/** The fit with its residuals counted in other deviations. */
function rescaled(fit: Fit, columns: readonly SampledColumn[], from: readonly number[], to: readonly number[]): Fit {
  const factors = columns.flatMap(({ samples }, c) => samples.map(() => from[c]! / to[c]!));
  const jacobian = fit.jacobian.map((column) => column.map((v, k) => v * factors[k]!));
  const normal = jacobian.map((a) => jacobian.map((b) => a.reduce((sum, v, k) => sum + v * b[k]!, 0)));
  const residuals = fit.residuals.map((r, k) => r * factors[k]!);
  return { ...fit, jacobian, residuals, inverse: inverseOf(normal) };
}

function answer(
  { fit }: Solved,
  k: number,
  { parameter, target }: Unknown,
  columns: readonly SampledColumn[],
  shift: readonly number[],
): { readonly estimate: Estimate | null; readonly why: string } {
  const variance = fit.inverse?.[k]?.[k];
  const value = fit.values[k]!;
  if (variance === undefined || !(variance > 0) || fit.jacobian[k]!.every((v) => v === 0))
    return { estimate: null, why: target!.property === 'leak' ? TIGHT : hardly(target!) };
  const samples = columns.reduce((n, c) => n + c.samples.length, 0);
  const readings = columns.reduce((n, c) => n + c.samples.reduce((m, s) => m + s.count, 0), 0);
  const deviation = Math.hypot(Math.sqrt(variance * inflation(fit, columns)), shift[k]!);
  if (deviation > POOR * Math.abs(value) || value <= parameter.low * 1.0001 || value >= parameter.high * 0.9999)
    return { estimate: null, why: hardly(target!) };
  return { estimate: estimate(value, deviation, samples - fit.values.length, readings), why: '' };
}

/** Residuals that follow each other tell less than as many independent ones: by (1 + ρ)/(1 − ρ), ρ their correlation. */
function inflation(fit: Fit, columns: readonly SampledColumn[]): number {
  let [product, square, n] = [0, 0, 0];
  let at = 0;
  for (const { samples } of columns) {
    const own = fit.residuals.slice(at, (at += samples.length)).map((r) => Math.max(-4, Math.min(4, r)));
    for (let k = 1; k < own.length; k++) product += own[k]! * own[k - 1]!;
    for (const r of own) square += r * r;
    n += own.length;
  }
  const rho = square > 0 ? product / square : 0;
  // Below what chance alone gives there is nothing to correct.
  return rho < 3 / Math.sqrt(Math.max(n, 1)) ? 1 : (1 + rho) / (1 - Math.min(0.98, rho));
}

const TIGHT =
  'the readings do not depend on it: the doors stood open all the time, or the spaces on both sides had one pressure';

function hardly(target: FlowTarget): string {
  switch (target.property) {
    case 'discharge':
      return 'the readings hardly depend on it (the doors stand open long enough to equalise, or nothing was read while they moved); readings every few milliseconds while a door opens, or a shorter opening, would tell';
    case 'leak':
      return 'the readings hardly depend on it; record the pressures of both sides over a long stretch with all doors shut';
    case 'moves':
      return 'the readings hardly depend on it; record the mass above and below over several strokes';
  }
}

function columnFit({ column, samples }: SampledColumn, found: Float64Array, noise: number): ColumnFit {
  const points = samples.map((s, k) => ({ t: s.t, measured: s.value, fitted: found[k]! }));
  const square = points.reduce((sum, p) => sum + (p.measured - p.fitted) ** 2, 0);
  return { column, points, rms: Math.sqrt(square / Math.max(1, points.length)), noise };
}

// ---------------------------------------------------------------- unknowns

function unknownOf(rig: Rig, target: FlowTarget): Unknown {
  if (target.property === 'moves') {
    const start = rig.stacks[target.stack]!.moves!.nominal;
    return {
      target,
      parameter: { start, low: 1e-4, high: 1, step: 1e-4 },
      put: (r, value) => ({
        ...r,
        stacks: r.stacks.map((s, k) => (k === target.stack ? { ...s, moves: exact(value, s.moves, r) } : s)),
      }),
    };
  }
  const { property, doors } = target;
  const door = rig.doors[doors[0]!]!;
  const start =
    property === 'discharge' ? (door.discharge?.nominal ?? SHARP_EDGED) : (door.leak?.value.nominal ?? 1e-3);
  return {
    target,
    parameter:
      property === 'discharge'
        ? { start, low: 0.01, high: 1, step: 1e-3 }
        : { start, low: 0, high: 0.5, step: 0.02 * Math.max(start, LEAST_LEAK[door.leak?.kind ?? 'share']) },
    put: (r, value) => withDoors(r, doors, property, value),
  };
}

/** The smallest leaks worth telling apart: a share, m2, m3/s/Pa. */
const LEAST_LEAK = { share: 1e-4, area: 1e-9, conductance: 1e-12 } as const;

function withDoors(rig: Rig, doors: readonly number[], property: 'discharge' | 'leak', value: number): Rig {
  return {
    ...rig,
    doors: rig.doors.map((d, k) => {
      if (!doors.includes(k)) return d;
      if (property === 'discharge') return { ...d, discharge: exact(value, d.discharge, rig) };
      return {
        ...d,
        leak: { kind: d.leak?.kind ?? ('share' as const), value: exact(value, d.leak?.value ?? null, rig) },
      };
    }),
  };
}

/** The rig with something in place of what is fitted where it states nothing. */
function stated(rig: Rig, target: FlowTarget): Rig {
  if (target.property === 'moves') {
    const stacks = rig.stacks.map((s, k) =>
      k === target.stack && !s.moves ? { ...s, moves: exact(0.2, null, rig) } : s,
    );
    return { ...rig, stacks };
  }
  return target.property === 'leak' && target.doors.some((d) => !rig.doors[d]!.leak)
    ? withDoors(rig, target.doors, 'leak', 1e-3)
    : rig;
}
