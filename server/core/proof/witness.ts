/**
 * From a path of symbolic steps to moments: the step times form a system of difference constraints (every fired clock ran between
 * its bounds, every other running clock stayed below its latest time), solved by longest paths (R. Bellman, 1958), which gives
 * the earliest possible moments in whole microseconds.
 *
 * A zone says that moments exist; it does not name them. Going along the path once more with one variable a step gives constraints
 * lo ≤ t[after] − t[before] ≤ hi only, for which the longest-path solution is the least one in every coordinate at once, and whole where the
 * bounds are whole. No solution (a positive cycle) means that the path came out of widening.
 */
import type { Discrete, Slots } from './zone/discrete';
import type { Step } from './explore';
import { isTrigger, type ProofNetwork, type Range } from './network';
import type { RigLabel } from './zone/moves';
import type { RigState } from './zone/system';
import { say } from '../words/say';

/** What a user can state to leave the search less that only it allows. */
export const LESS_IN_DOUBT = (): string =>
  say`min_on and min_off of sensors and switches, or smaller tolerances, leave less in doubt`;

/** An operation of a counter-example, at `t` microseconds from its start. */
export interface Operation {
  readonly t: number;
  /** Index into the proof network's inputs. */
  readonly input: number;
  readonly value: boolean;
}

/** How long one use of a time took. `index`: the rig's element, or its door. */
export interface Duration {
  readonly what: 'preset' | 'response' | 'opens' | 'closes';
  readonly index: number;
  readonly time: number;
  /** When this use began; left out where the time is the same at every use. */
  readonly from?: number;
}

/** A path with moments, µs: what has to be done when, and with which times. */
export interface Witness {
  /** What its moments count from: power-on, or (after a replay) the rig at rest, long powered up, as scenarios begin. */
  readonly from: 'rest' | 'power-on';
  readonly operations: readonly Operation[];
  /** Moment of the last step: when the property breaks. */
  readonly end: number;
  /** Moment of every step, the first (power-on) at 0. */
  readonly times: readonly number[];
  /** Every time that ran out, in order. */
  readonly durations: readonly Duration[];
}

/** `time[after] − time[before]` lies between `lo` and `hi`. */
interface Constraint {
  readonly before: number;
  readonly after: number;
  readonly lo: number;
  readonly hi: number;
}

export type RigPath = readonly Step<RigState, RigLabel>[];

/** Null where the path has no moments in whole microseconds (it came from a zone that was widened). */
export function witnessOf(path: RigPath, network: ProofNetwork, slots: Slots): Witness | null {
  const constraints = constraintsOf(path, network, slots);
  // Two operations at one moment are seen together: where the path has one after the other, a microsecond keeps them apart, if there is one.
  const times = solve(path.length, [...constraints, ...operationsApart(path)]) ?? solve(path.length, constraints);
  if (!times) return null;
  const operations = path.flatMap((step, k) =>
    (step.label?.inputs ?? []).map(({ index, value }) => ({ t: times[k]!, input: index, value })),
  );
  return {
    from: 'power-on',
    operations,
    end: times[times.length - 1]!,
    times,
    durations: durationsOf(path, times, network, slots),
  };
}

/** A microsecond between each operation and the step before it, and the one after. */
function operationsApart(path: RigPath): Constraint[] {
  return path.flatMap((_, after) => (operates(path, after) ? [{ before: after - 1, after, lo: 1, hi: Infinity }] : []));
}

/** Whether an input turns in step `k` (not the first) or in the one before it. */
export function operates(path: RigPath, k: number): boolean {
  return k > 0 && [path[k]!, path[k - 1]!].some(({ label }) => (label?.inputs.length ?? 0) > 0);
}

function durationsOf(path: RigPath, times: readonly number[], network: ProofNetwork, slots: Slots): Duration[] {
  const durations: Duration[] = [];
  const started = new StartTimes();
  path.forEach((step, k) => {
    for (const { slot } of step.label?.fired ?? []) {
      const from = times[started.of(slot)]!;
      const time = times[k]! - from;
      // What the clock was waiting for is to be seen in the state before: in the one after it the use is over.
      const use = useOf(slot, path[k - 1]!.state, network, slots);
      if (use?.share === 1) durations.push({ what: use.what, index: use.index, time, from });
    }
    started.advance(step.state, k);
  });
  return durations;
}

/** Which time a running clock waits for, and how many times over. */
export interface Use {
  readonly what: Duration['what'];
  readonly index: number;
  /** A part of 1 for a door that turned round on its way. */
  readonly share: number;
  readonly range: Range;
}

/** Null for observer and input clocks, which wait for nothing, and for doors whose way is only known within bounds. */
export function useOf(slot: number, state: RigState, network: ProofNetwork, slots: Slots): Use | null {
  const { elements, doors } = network;
  for (let e = 0; e < elements.length; e++) {
    const { origin, kind, preset, response } = elements[e]!;
    if (slot === slots.timer(e))
      return { what: isTrigger(kind) ? 'response' : 'preset', index: origin, share: 1, range: preset };
    const place = slot - slots.pending(e, 0);
    const pending = place >= 0 ? state.discrete.queues[e]![place] : undefined;
    if (pending && place < network.inFlight) return { what: 'response', index: origin, share: 1, range: response };
  }
  const d = doors.findIndex((_, k) => slot === slots.door(k));
  if (d < 0) return null;
  const { phase, from } = state.discrete.doors[d]!;
  // Turned round at a position known within bounds only: its way is not a fixed part of one travel.
  if (from.lo !== from.hi) return null;
  const opening = phase === 'opening';
  const range = opening ? doors[d]!.opens : doors[d]!.closes;
  return { what: opening ? 'opens' : 'closes', index: d, share: opening ? 1 - from.lo : from.lo, range };
}

/** Step at which each running clock started. */
export class StartTimes {
  private started = new Map<number, number>();

  of(slot: number): number {
    return this.started.get(slot)!;
  }

  advance(state: RigState, step: number): void {
    // Rebuilt at each step: a slot whose clock was forgotten is not running, and may start again later with another origin.
    const next = new Map<number, number>();
    for (const [slot, origin] of state.origins) next.set(slot, origin < 0 ? step : this.started.get(origin)!);
    this.started = next;
  }
}

/** Two steps at which one input turns, one after the other, and the time that lies between them at least. */
export interface TurnsApart {
  readonly before: number;
  readonly after: number;
  readonly least: number;
}

/** An input keeps each value for its least time, or a microsecond. The zones forget its clock where it no longer matters. */
export function turnsApart(path: RigPath, { inputs }: ProofNetwork): TurnsApart[] {
  const last = new Map<number, number>();
  const pairs: TurnsApart[] = [];
  path.forEach(({ label }, after) => {
    for (const { index, value } of label?.inputs ?? []) {
      const before = last.get(index);
      const { minOn, minOff } = inputs[index]!;
      if (before !== undefined) pairs.push({ before, after, least: Math.max(1, value ? minOff : minOn) });
      last.set(index, after);
    }
  });
  return pairs;
}

/** All that the moments of a path have to satisfy. */
function constraintsOf(path: RigPath, network: ProofNetwork, slots: Slots): Constraint[] {
  const constraints: Constraint[] = turnsApart(path, network).map(({ before, after, least }) => ({
    before,
    after,
    lo: least,
    hi: Infinity,
  }));
  const started = new StartTimes();
  path.forEach((step, k) => {
    if (k > 0) constraints.push(...stepConstraints(path, k, started, network, slots));
    started.advance(step.state, k);
  });
  return constraints;
}

function stepConstraints(
  path: RigPath,
  k: number,
  started: StartTimes,
  network: ProofNetwork,
  slots: Slots,
): Constraint[] {
  const { state } = path[k - 1]!;
  const label = path[k]!.label!;
  const since = (slot: number, lo: number, hi: number): Constraint => ({ before: started.of(slot), after: k, lo, hi });
  // Shown at k, so turned one response before, which must not be before power-on.
  const earliest = earliestTime(label, network);
  return [
    // Steps do not go back in time; what runs has not passed its latest time; what fired lies in its range; what was passed over is still early.
    { before: k - 1, after: k, lo: 0, hi: Infinity },
    { before: 0, after: k, lo: earliest, hi: Infinity },
    ...state.slots.map((slot) => since(slot, 0, latest(slot, state.discrete, network, slots))),
    ...label.fired.map(({ slot, due }) => since(slot, due.lo, due.hi)),
    ...label.below.map(({ slot, bound }) => since(slot, 0, bound)),
  ];
}

/** An input moved behind a response is operated that much before, and never before power-on. */
export function earliestTime(label: RigLabel, network: ProofNetwork): number {
  return Math.max(0, ...label.inputs.map(({ index }) => network.inputs[index]!.shift.hi));
}

function latest(slot: number, state: Discrete, network: ProofNetwork, slots: Slots): number {
  for (let e = 0; e < network.elements.length; e++) {
    if (slot === slots.timer(e)) return network.elements[e]!.preset.hi;
    const place = slot - slots.pending(e, 0);
    if (place >= 0 && place < state.queues[e]!.length) return state.queues[e]![place]!.due.hi;
  }
  const door = state.doors.findIndex((_, d) => slot === slots.door(d));
  return door >= 0 ? state.doors[door]!.due.hi : Infinity;
}

/** Earliest times with time[0] = 0, or null. */
function solve(count: number, constraints: readonly Constraint[]): number[] | null {
  const times = new Array<number>(count).fill(0);
  // Bellman's rounds: with n variables everything is settled after n of them, or a cycle keeps pushing and there is no solution.
  for (let round = 0; round <= count; round++) {
    let changed = false;
    for (const { before, after, lo, hi } of constraints) {
      if (times[after]! < times[before]! + lo) {
        times[after] = times[before]! + lo;
        changed = true;
      }
      if (hi !== Infinity && times[before]! < times[after]! - hi) {
        times[before] = times[after]! - hi;
        changed = true;
      }
    }
    // Times only ever rise from 0. A raised t[0] means that something would have to happen before the start.
    if (!changed) return times[0] === 0 ? times : null;
  }
  return null;
}
