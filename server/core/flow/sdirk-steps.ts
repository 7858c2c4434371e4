/** How long the next step of `sdirk.ts` is, by the error of the last: both in units of what is allowed. */

/** Next step after one in which Newton's method failed; growth at most, and after a step whose error is next to none. */
const SHRINK = 0.5;
const GROWTH = 6;
const NO_ERROR = 1e-6;
const GROWTH_FROM_NONE = 30;
/** Part of the step that the error would allow, for safety; and an error below which it says nothing about the next one. */
const SAFETY = 0.85;
export const LEAST_ERROR = 1e-2;

/**
 * By how much a step that was refused is made shorter. `missed`: what it may have missed of a condition, and the part of it after which it is
 * to end instead (0: not known).
 */
export function shrinkOf(error: number, missed: { readonly error: number; readonly part: number }): number {
  if (!Number.isFinite(error)) return SHRINK;
  // What is missed of a condition goes with the length of the step, not with its fourth power.
  if (missed.error === error && missed.part > 0) return missed.part;
  return Math.max(0.15, SAFETY * Math.pow(error, -0.25));
}

/** The step after one of `h` with this error; `last`: the one before it (`h` 0: none). */
export function nextStep(
  h: number,
  error: number,
  last: { readonly h: number; readonly error: number },
  hasFailed: boolean,
): number {
  // The embedded method has order 3, so its error goes with h⁴.
  let grow = SAFETY * Math.pow(Math.max(error, 1e-8), -0.25);
  // Where steps become shorter from one to the next, they go on doing so (Gustafsson's control: Hairer & Wanner, IV.8).
  if (last.h > 0 && error > LEAST_ERROR) grow *= Math.min(1, (h / last.h) * Math.pow(last.error / error, 0.25));
  // No growth after a refusal.
  const most = hasFailed ? 1 : error < NO_ERROR ? GROWTH_FROM_NONE : GROWTH;
  return h * Math.min(most, Math.max(0.2, grow));
}
