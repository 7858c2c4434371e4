/** Readings of a built rig as columns of numbers. A reading that was not taken is NaN, a state that was not taken is −1. */
import type { Sensed } from '../model/rig';

/** One number a moment; NaN where not taken. */
export type Column = Float64Array;

export interface DoorColumn {
  readonly door: number;
  /** Opening 0 … 1, with the noise of its sensor. */
  readonly openings: Column;
  /** Whether all cells are words (or 0, ½, 1): then a moving door shows that it moves and not how far it is. */
  readonly isStates: boolean;
  /**
   * Of a column of two states, once it is known (change-place.ts): what to add to a change for the moment at which the door passes its half, µs;
   * `unsure`: it may change anywhere on the way.
   */
  readonly lead?: { readonly opens: number; readonly closes: number; readonly unsure: boolean };
  /** Smallest step between two openings that the digits of the column can show. */
  readonly resolution: number;
}

export interface ReadingColumn {
  readonly chamber: number;
  readonly sensed: Sensed;
  /** SI. */
  readonly values: Column;
  /** As in the file, for messages. */
  readonly heading: string;
  readonly unit: string;
  readonly resolution: number;
}

/** A sensor, switch or signal. */
export interface StateColumn {
  readonly net: number;
  /** 1, 0, or −1 where not taken. */
  readonly states: Int8Array;
}

export interface RigLog {
  /** µs, rising. Clock times count from midnight, dates from 1970. */
  readonly times: Column;
  readonly doors: readonly DoorColumn[];
  readonly readings: readonly ReadingColumn[];
  readonly states: readonly StateColumn[];
  /**
   * Stretches without readings, far longer than the usual step, in which something happened unseen (a door is not shut at both ends, or a
   * reading jumps by more than it does anywhere else): nothing is concluded across them. A quiet stretch is not a gap.
   */
  readonly gaps: readonly { readonly from: number; readonly to: number }[];
  /** Usual step between two moments, µs. */
  readonly step: number;
  /** What was ignored or left out, and what is odd about the clock, in words. */
  readonly exclusions: readonly string[];
}

export interface LogProblem {
  /** 1 is the first line of the text. */
  readonly line: number;
  readonly message: string;
}

export type LogReading =
  { readonly ok: true; readonly log: RigLog } | { readonly ok: false; readonly problems: readonly LogProblem[] };

/** Whether a column shows a door open or shut and never on its way. */
export const hasTwoStates = ({ isStates, openings }: DoorColumn): boolean => isStates && !openings.includes(0.5);

/** Whether a stretch touches a gap of the log. */
export const inGap =
  (log: RigLog) =>
  (from: number, to: number): boolean =>
    log.gaps.some((gap) => gap.from < to && gap.to > from);
