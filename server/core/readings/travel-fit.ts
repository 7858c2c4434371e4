/** The travel of a door in each direction from all its passages in a log, and how well the moments of the passages are known. */
import type { DoorColumn, RigLog } from './log';
import { commonTravel } from './passage-half';
import { areFew, marginOf, noiseOf, type Noise, type Ramp } from './ramps';
import { chiSquareLimit, estimate, type Estimate } from './statistics';
import { say } from '../words/say';

export interface TravelFit {
  readonly travel: Estimate | null;
  /** Where it cannot be determined: why, and what would determine it. */
  readonly why: string;
  readonly ramps: readonly Ramp[];
}

/** The travel of a door in one direction from all its passages. */
export function travelFit(log: RigLog, column: DoorColumn, opens: boolean, all: readonly Ramp[]): TravelFit {
  const ramps = all.filter((r) => r.opens === opens);
  if (ramps.length === 0)
    return { travel: null, ramps, why: say`the log shows no passage of the door from one end to the other` };
  const own = column.isStates ? ofStates(ramps) : ofPositions(ramps, noiseOf(column));
  if (own) return { travel: own, ramps, why: '' };
  const every = say`readings every ${milliseconds(log.step)}`;
  const ways = ramps.every((r) => r.inside === 0)
    ? say`${every} show no moment on the way`
    : say`${every} show too few moments on the way`;
  return { travel: null, ramps, why: ways };
}

const milliseconds = (us: number): string => `${Number((us / 1000).toPrecision(3))} ms`;

/** Deviation of a position about its ramp, and what it rests on. */
function scatterAbout(own: readonly Ramp[], noise: Noise): { readonly sigma: number; readonly dof: number } {
  const dof = own.reduce((sum, r) => sum + r.inside, 0) - 2 * own.length;
  const squares = own.reduce((sum, r) => sum + r.squares, 0);
  return { sigma: sigmaOf(squares, dof, noise), dof };
}

function sigmaOf(squares: number, dof: number, noise: Noise): number {
  const scatter = dof >= 1 ? Math.sqrt(squares / dof) : 0;
  const known = dof >= 8 ? scatter : Math.max(scatter, noise.end);
  return Math.max(known, noise.floor, 1e-6);
}

/** Deviation of the moments at which the passages in one direction pass the half, µs. */
export function momentDeviation(log: RigLog, column: DoorColumn, ramps: readonly Ramp[]): number {
  const blind = log.step / Math.sqrt(12);
  if (column.isStates || ramps.length === 0) return blind;
  const { sigma } = scatterAbout(ramps, noiseOf(column));
  const squares = ramps.map((r) => (Number.isFinite(r.shift) ? sigma * sigma * r.shift : blind * blind));
  return Math.min(blind, Math.sqrt(squares.reduce((a, b) => a + b, 0) / ramps.length));
}

function ofPositions(ramps: readonly Ramp[], noise: Noise): Estimate | null {
  if (areFew(ramps)) return together(ramps, noise);
  const own = ramps.filter((r) => r.firm >= 2 && Number.isFinite(r.takes));
  if (own.length === 0) return null;
  const { sigma, dof } = scatterAbout(own, noise);
  const weights = own.map((r) => 1 / (sigma * sigma * r.spread));
  const weight = weights.reduce((a, b) => a + b, 0);
  const value = own.reduce((sum, r, k) => sum + weights[k]! * r.takes, 0) / weight;
  const deviation = Math.sqrt(1 / weight);
  if (deviation > 0.15 * value) return null;
  const free = own.length - 1;
  const excess = free === 0 ? 0 : own.reduce((sum, r, k) => sum + weights[k]! * (r.takes - value) ** 2, 0) / free;
  // Passages that differ by more than the noise of the readings: the travel itself scatters.
  if (free > 0 && excess > chiSquareLimit(free)) return scattered(own.map((r) => r.takes));
  return estimate(value, deviation, dof >= 8 ? dof : 8, own.length);
}

/** One travel for all passages, which show too little of it one by one. */
function together(ramps: readonly Ramp[], noise: Noise): Estimate | null {
  const found = commonTravel(
    ramps.map((r) => r.points),
    marginOf(noise),
    noise.end,
  );
  if (!found || !Number.isFinite(found.spread)) return null;
  const { takes, spread, squares, dof } = found;
  const sigma = sigmaOf(squares, dof, noise);
  const deviation = sigma * Math.sqrt(spread);
  return deviation > 0.15 * takes ? null : estimate(takes, deviation, Math.max(8, dof), ramps.length);
}

function scattered(takes: readonly number[]): Estimate {
  const n = takes.length;
  const mean = takes.reduce((a, b) => a + b, 0) / n;
  const square = takes.reduce((sum, t) => sum + (t - mean) ** 2, 0) / (n - 1);
  return estimate(mean, Math.sqrt(square / n), n - 1, n);
}

/** Every passage bounds the travel; all together bound it more. */
function ofStates(ramps: readonly Ramp[]): Estimate | null {
  const least = Math.max(...ramps.map((r) => r.least));
  const most = Math.min(...ramps.map((r) => r.most));
  if (!(most > least) || !Number.isFinite(most) || most - least > 0.6 * most) return null;
  return {
    value: 0.5 * (least + most),
    deviation: (most - least) / Math.sqrt(12),
    interval: [least, most],
    observations: ramps.length,
  };
}
