/**
 * From a path of symbolic steps to moments: the step times form a system of difference constraints (every fired clock ran between
 * its bounds, every other running clock stayed below its latest time), solved by longest paths (R. Bellman, 1958), which gives
 * the earliest possible moments in whole microseconds.
 */
import type { Discrete, Slots } from './discrete';
import type { Step } from './explore';
import type { ProofNetwork } from './network';
import type { RigLabel, RigState } from './rig-system';

/** An operation of a counter-example, at `t` microseconds from power-on. */
export interface Operation {
  readonly t: number;
  /** Index into the proof network's inputs. */
  readonly input: number;
  readonly value: boolean;
}

/** How long each element's response and preset and each door's travel took, in order of use. */
export interface Chosen {
  readonly responses: ReadonlyMap<number, readonly number[]>;
  readonly presets: ReadonlyMap<number, readonly number[]>;
  readonly travels: ReadonlyMap<number, readonly number[]>;
}

export interface Witness {
  readonly operations: readonly Operation[];
  /** Moment of the last step: when the property breaks. */
  readonly end: number;
  readonly times: readonly number[];
}

/** `time[after] − time[before]` lies between `lo` and `hi`. */
interface Constraint {
  readonly before: number;
  readonly after: number;
  readonly lo: number;
  readonly hi: number;
}

type Path = readonly Step<RigState, RigLabel>[];

/** Null where the path has no moments in whole microseconds (it came from a zone that was widened). */
export function witnessOf(path: Path, network: ProofNetwork, slots: Slots): Witness | null {
  const constraints = constraintsOf(path, network, slots);
  const times = solve(path.length, constraints);
  if (!times) return null;
  const operations = path.flatMap((step, k) =>
    step.label?.input ? [{ t: times[k]!, input: step.label.input.index, value: step.label.input.value }] : [],
  );
  return { operations, end: times[times.length - 1]!, times };
}

function constraintsOf(path: Path, network: ProofNetwork, slots: Slots): Constraint[] {
  const constraints: Constraint[] = [];
  let started = new Map<number, number>();
  path.forEach((step, k) => {
    if (k > 0) {
      constraints.push({ before: k - 1, after: k, lo: 0, hi: Infinity });
      const state = path[k - 1]!.state;
      for (const slot of state.slots)
        constraints.push({
          before: started.get(slot)!,
          after: k,
          lo: 0,
          hi: latest(slot, state.discrete, network, slots),
        });
      for (const { slot, due } of step.label!.fired)
        constraints.push({ before: started.get(slot)!, after: k, lo: due.lo, hi: due.hi });
      for (const { slot, bound } of step.label!.below)
        constraints.push({ before: started.get(slot)!, after: k, lo: 0, hi: bound });
    }
    const next = new Map<number, number>();
    for (const [slot, origin] of step.state.origins) next.set(slot, origin < 0 ? k : started.get(origin)!);
    started = next;
  });
  return constraints;
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
    if (!changed) return times[0] === 0 ? times : null;
  }
  return null;
}
