/** How many lines and pumps a feed or draw needs, and what interval or pocket a wanted rate needs. */
import type { Line } from '../model/rig';
import { type LineFlow, massRate } from './lines';
import type { Law } from './media/law';

/** What a feed or draw needs in pipes and pumps. */
export interface LineSizing {
  /** Index into the rig's lines. */
  readonly line: number;
  /** kg/s; null where no rate is stated or it cannot be turned into mass. One that `varies` with what is in its chamber: as it is at the start. */
  readonly rate: number | null;
  readonly varies: boolean;
  /** Pipes and pumps side by side; null where no limit is stated. */
  readonly lines: number | null;
  readonly pumps: number | null;
}

/** Smallest whole number of units of `capacity` that carry `rate`; an excess of rounding size does not count. */
export const unitsNeeded = (rate: number, capacity: number): number =>
  Math.max(1, Math.ceil((rate / capacity) * (1 - 1e-12)));

/** `flow`: the same line as mass flow. */
export function sizeLine(line: Line, index: number, law: Law, flow: LineFlow | undefined): LineSizing {
  const rate = line.rate ? massRate(line.rate, law) : null;
  const varies = flow?.rateAt !== undefined;
  const needed = (limit: Line['lineLimit']): number | null => {
    const capacity = limit ? massRate(limit, law) : null;
    return rate === null || capacity === null || !(capacity > 0) ? null : unitsNeeded(rate, capacity);
  };
  return {
    line: index,
    rate: varies ? flow.rate : rate,
    varies,
    lines: needed(line.lineLimit),
    pumps: needed(line.pumpLimit),
  };
}

/** Longest interval between strokes, s, at which strokes of `mass` kg still carry `rate` kg/s. */
export const intervalFor = (mass: number, rate: number): number => (rate > 0 ? mass / rate : Infinity);

/**
 * Factor by which pockets (clearance in proportion) must grow for strokes every `interval` seconds to carry `rate`, from what a
 * stroke moves now. Exact as long as a pocket is small against its chambers.
 */
export const pocketFactorFor = (mass: number, interval: number, rate: number): number =>
  mass > 0 ? (rate * interval) / mass : Infinity;
