/** Times as they stand in pictures, and the round steps of a ruler. */
import { FOLLOWED_TO, formatTime } from '../../units/units';

const UNITS = [
  [60_000_000, 'min'],
  [1_000_000, 's'],
  [1_000, 'ms'],
] as const;

/** A time for people as the rest of the tool writes it, with a real minus sign. */
export function timeText(us: number): string {
  return formatTime(us).replace(/^-/, '−');
}

/** How finely the moments of a picture are known: in µs, where contents move the sensors; absent: exactly. */
export interface KnownTo {
  readonly finest?: number;
}

/** A moment, no finer than it is known. */
export const momentText = (us: number, { finest = 1 }: KnownTo): string => timeText(Math.round(us / finest) * finest);

/** Those of a run that is followed with its contents. */
export const FOLLOWED: KnownTo = { finest: FOLLOWED_TO };

// 1-2-5 steps below a second, then the steps of clocks.
const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500].flatMap((s) => [s, s * 1_000]).sort((a, b) => a - b);
const LONG_STEPS = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1_800, 3_600, 7_200, 14_400, 43_200, 86_400].map(
  (s) => s * 1_000_000,
);

/** Smallest round step (microseconds) of at least `least`. */
export function roundStep(least: number): number {
  const found = [...STEPS, ...LONG_STEPS].find((s) => s >= least);
  if (found !== undefined) return found;
  const days = Math.ceil(least / 86_400_000_000);
  return days * 86_400_000_000;
}

/** Round times from `from` to `to`, both inside, `step` apart. */
export function ticks(from: number, to: number, step: number): number[] {
  const found: number[] = [];
  for (let n = Math.ceil(from / step); n * step <= to; n++) found.push(n * step + 0);
  return found;
}

/** Text of a ruler's tick: all ticks of one ruler get the same unit and decimals. */
export function tickText(t: number, step: number): string {
  const [size, unit] = UNITS.find(([u]) => step >= u || (u === 1_000_000 && step >= 10_000)) ?? UNITS[2]!;
  const decimals = Math.max(0, Math.ceil(-Math.log10(step / size) - 1e-9));
  const value = Math.abs(t) / size;
  return `${t < 0 ? '−' : ''}${t === 0 ? '0' : value.toFixed(decimals)} ${unit}`;
}

/** `+310 ms`, `−40 ms` */
export function signedTime(us: number, known: KnownTo = {}): string {
  return us < 0 ? `−${momentText(-us, known)}` : `+${momentText(us, known)}`;
}
