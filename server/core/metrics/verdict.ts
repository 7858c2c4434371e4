/** What evaluating one requirement gives. */
import type { RelatedPlace } from '../model/problem';

/**
 * `met` and `failed` are what the strokes (or the scenario) show at nominal times; `undecided`: there is nothing to measure or
 * the facts are incomplete; `not-computed`: no engine for it yet; `invalid`: the requirement itself is wrong.
 */
export type VerdictState = 'met' | 'failed' | 'undecided' | 'not-computed' | 'invalid';

/** A measured value: microseconds for times (`Infinity`: without end), SI units otherwise. */
export interface Actual {
  readonly dimension: string;
  readonly nominal: number;
  /** Guaranteed range within the stated tolerances; null while only nominal times are computed. */
  readonly range: { readonly min: number; readonly max: number } | null;
}

export interface Verdict {
  readonly state: VerdictState;
  /** Code of the problem it makes: `require/failed`, `require/undecided`, `require/arguments`, `name/unknown`; null when met. */
  readonly code: string | null;
  /** The value that decides (of the worst stroke and window); null where there is none. */
  readonly actual: Actual | null;
  /** `>= 100 ms`, `in 12 s .. 15 s`; empty for metrics without a comparison. */
  readonly expected: string;
  /** `150 ms`, `never open together`, … for people; empty where there is nothing. */
  readonly found: string;
  /** One sentence for the problem list and the test view. */
  readonly message: string;
  /** Doors, timers and signals that make it so. */
  readonly places: readonly RelatedPlace[];
}
