/**
 * What the event engine records. Times are whole microseconds; values are right-continuous (the value at t is the one just after t).
 *
 * Invariants: edges of one net alternate in value, beginning with the opposite of `initial`; an edge's `cause` is an earlier edge; moves of
 * one door alternate in direction, each begins where the one before had come to by then, and `from` is exact at the ends (0 and 1).
 */

/** One change of one net. Zero-width pulses (delta steps) are kept: two edges of one net at the same time. */
export interface NetEdge {
  readonly t: number;
  readonly net: number;
  readonly value: boolean;
  /** Index into `Trace.edges` of the change that led to this one; -1 for an operation from outside. */
  readonly cause: number;
  /** Preset that ran out between cause and this change, 0 where none did. */
  readonly preset: number;
  /** Response of the element that gives this net, 0 for inputs. */
  readonly response: number;
}

/** A door starts to move (or turns round) at `t` from `from` (0 shut … 1 fully open) towards `to`, and is there at `arrives`. */
export interface DoorMove {
  readonly t: number;
  readonly from: number;
  readonly to: 0 | 1;
  readonly arrives: number;
  /** Index into `Trace.edges`; -1 where power loss or a sequence moves it. */
  readonly cause: number;
}

export interface DoorTrack {
  /** Position at `Trace.start`. */
  readonly initial: number;
  readonly moves: readonly DoorMove[];
}

/** A recorded run. Immutable; causes are indices into its own edges. */
export interface Trace {
  readonly start: number;
  readonly end: number;
  /** Value of each net at `start`. */
  readonly initial: readonly boolean[];
  /** In order of time; equal times in order of happening. */
  readonly edges: readonly NetEdge[];
  /** One per door of the rig. */
  readonly doors: readonly DoorTrack[];
  /** Why it stops before the time asked for, if it does. */
  readonly stopped:
    | null
    | { readonly reason: 'budget' }
    | { readonly reason: 'loop'; readonly nets: readonly number[]; readonly t: number };
}

/** The same trace with every time later by `by`. */
export function shiftedTrace(trace: Trace, by: number): Trace {
  const { stopped } = trace;
  return {
    ...trace,
    start: trace.start + by,
    end: trace.end + by,
    edges: trace.edges.map((edge) => ({ ...edge, t: edge.t + by })),
    doors: trace.doors.map(({ initial, moves }) => ({
      initial,
      moves: moves.map((m) => ({ ...m, t: m.t + by, arrives: m.arrives + by })),
    })),
    stopped: stopped?.reason === 'loop' ? { ...stopped, t: stopped.t + by } : stopped,
  };
}

/** Switches and sensors as they stand before the trigger of a stroke, by net: as the run begins, whatever the text gives at the start. */
export const inputsBefore =
  ({ trace }: { readonly trace: Trace }) =>
  (net: number): boolean =>
    trace.initial[net] ?? false;
