/**
 * A rig in response style as a transition system over zones: inputs change at any moment (or after their least on and off
 * times), every response, preset and travel takes any time within its tolerance at each use.
 *
 * What happens at one instant is one step (see moves.ts). What is not taken must not be forced now: its clock is still below the latest
 * time it is due.
 *
 * A state is what holds just after an instant together with all the time that may pass until the next one: its zone is closed under the
 * passing of time up to the invariants (`up`, then `invariants`). So a move need only cut the zone to where it is possible; no step of
 * time alone is ever taken or stored. A new value for each use of a time comes for free: a clock is compared with
 * a range and remembers no choice.
 */
import { settleDoors } from './blocks';
import {
  atMost,
  copyZone,
  emptyClocks,
  extrapolating,
  highest,
  isLarge,
  isUnbounded,
  lowest,
  remapClocks,
  UNCOMPARED,
  up,
  type Zone,
} from './dbm';
import { slotsOf, type Discrete, type Instant, type Slots } from './discrete';
import { hiddenInputs, keyOf, type Hidden } from './hidden';
import { inputChoices, type InputChoices } from './input-choices';
import type { Later, Start, SymbolicState, Successor, ZoneSystem } from '../explore';
import type { ClockLimits, Monitor } from '../monitor';
import { movesOf, type Move, type RigLabel } from './moves';
import type { ProofNetwork, Range } from '../network';
import { powerOn } from './power-on';
import { reachOf } from './reach';
import { say } from '../../words/say';

/** A symbolic state; immutable. The zone has one clock for each of `slots`. */
export interface RigState extends SymbolicState {
  readonly discrete: Discrete;
  /** Slot of each clock of the zone, in order; clock k+1 is `slots[k]`. */
  readonly slots: readonly number[];
  /** For the counter-example: slot → slot of the state before (−1: starts at this step). */
  readonly origins: ReadonlyMap<number, number>;
  /** Properties this state breaks, found while the step was computed. */
  readonly flags: readonly string[];
  readonly loops: boolean;
}

/** The rig as a system to be explored, watched by `monitor`. */
export function rigSystem(network: ProofNetwork, monitor: Monitor): ZoneSystem<RigState, RigLabel> {
  const slots = slotsOf(network);
  const reach = reachOf(network);
  const hidden = hiddenInputs(network, monitor.nets);
  // Where inputs are compared with the start, every setting of them is a state of its own.
  const asTheyAre: InputChoices = (group) => group;
  const needed = monitor.comparesInputs ? asTheyAre : inputChoices(network, hidden);
  return {
    *initial(): Generator<Start<RigState, RigLabel> | null> {
      for (const { label, at } of powerOn(network, slots, reach, monitor.initialMarks())) {
        const states = yield* settle(at, emptyClocks(), [], monitor, hidden);
        if (states.length === 0) yield null;
        for (const state of states) yield { label, state };
      }
    },
    *successors(state): Generator<Successor<RigState, RigLabel> | Later | null> {
      if (state.loops) return;
      for (const move of movesOf(network, slots, reach, state, needed)) {
        if (move !== null && 'later' in move) {
          yield move;
          continue;
        }
        const taken = move === null ? [] : yield* take(network, slots, monitor, hidden, state, move);
        if (move === null || taken.length === 0) yield null;
        else for (const next of taken) yield { label: move.label, state: next };
      }
    },
    bytes: bytesOf,
    operations: ({ inputs }) => inputs.length,
    broken: (state) => state.flags,
    trouble: (state) => (state.loops ? say`signals without response time form a loop that never settles` : null),
  };
}

/** Objects and arrays of a state, and what a clock takes besides its row, in bytes: estimates, not measured. */
const OF_STATE = 1_400;
const OF_CLOCK = 60;

function bytesOf({ key, zone, slots, discrete }: RigState): number {
  const { nets, outputs, queues, doors } = discrete;
  return (
    OF_STATE +
    key.length +
    zone.d.length * 8 +
    slots.length * OF_CLOCK +
    nets.length +
    outputs.length * 8 +
    (queues.length + doors.length) * 8
  );
}

/** The states that a move leads to: one, or several where a monitor splits its zone. */
function* take(
  network: ProofNetwork,
  slots: Slots,
  monitor: Monitor,
  hidden: Hidden,
  from: RigState,
  move: Move,
): Steps<RigState[]> {
  const { zone } = move;
  const clockOf = (slot: number): number => from.slots.indexOf(slot) + 1;
  const at: Instant = {
    network,
    slots,
    state: from.discrete.copy(),
    clocks: new Map(from.slots.map((slot) => [slot, slot])),
    events: [],
    driven: new Set(),
    clockRange: (slot) => ({ lo: lowest(zone, clockOf(slot)), hi: highest(zone, clockOf(slot)) }),
    loops: false,
  };
  move.act(at);
  settleDoors(at);
  return yield* settle(at, copyZone(zone), from.slots, monitor, hidden);
}

/** Something computed in steps: only of large zones there is more than one. */
type Steps<T> = Generator<null, T, void>;

/** Rebuilds the zone over the clocks that run now, lets time pass within the invariants, and asks the monitor. */
function* settle(
  at: Instant,
  zone: Zone,
  before: readonly number[],
  monitor: Monitor,
  hidden: Hidden,
): Steps<RigState[]> {
  const states: RigState[] = [];
  for (const verdict of monitor.watch(at, zone, before)) {
    // Sorted by slot: states with the same clocks have them in the same order, whatever order they were started in.
    const slots = [...at.clocks.keys()].sort((a, b) => a - b);
    const from = [
      0,
      ...slots.map((slot) => (at.clocks.get(slot)! < 0 ? -1 : before.indexOf(at.clocks.get(slot)!) + 1)),
    ];
    // The order is that of the theory: reset and forget clocks, judge the state as it is entered, let time pass, cut by the invariants,
    // then extrapolate. Extrapolating before the invariants would let clocks past them.
    const next = remapClocks(verdict.zone, from);
    if (isLarge(next)) yield null;
    const shown = monitor.states(at.state);
    // A property of states is broken only by one that lasts a microsecond, as in a recorded trace.
    const isShown = shown.length > 0 && (yield* keeps(copyZone(next), slots, latestTimes(at), 1));
    const flags = isShown ? [...verdict.flags, ...shown] : verdict.flags;
    up(next);
    if (!(yield* invariants(at, slots, next))) continue;
    const kept = yield* coarsened(at, monitor, slots, next);
    if (isLarge(next)) yield null;
    states.push({
      key: `${keyOf(at, monitor, hidden)}|${kept.slots.join(',')}|${flags.join(',')}`,
      zone: kept.zone,
      discrete: at.state,
      slots: kept.slots,
      origins: new Map(at.clocks),
      flags,
      loops: at.loops,
    });
  }
  return states;
}

/** Forgets what no guard can tell apart, and the clocks that then say nothing: those of inputs that may turn, of observers content. */
function* coarsened(
  at: Instant,
  monitor: Monitor,
  slots: readonly number[],
  zone: Zone,
): Steps<{ readonly slots: readonly number[]; readonly zone: Zone }> {
  const limits = slots.map((slot) => monitor.limits.get(slot) ?? limitsOf(at, slot));
  const widening = extrapolating(zone, [0, ...limits.map((l) => l.lower)], [0, ...limits.map((l) => l.upper)]);
  while (!widening.next().done) yield null;
  // Widened past a latest time, the zone is cut back to it: widening must not let a timer be late.
  if (!(yield* invariants(at, slots, zone))) return { slots, zone };
  // A clock about which nothing is known, or nothing asked any more, is left out: states that differ in it become one.
  const live = slots.flatMap((_, k) => (isDead(zone, k + 1, limits[k]!) ? [] : [k]));
  if (live.length === slots.length) return { slots, zone };
  return { slots: live.map((k) => slots[k]!), zone: remapClocks(zone, [0, ...live.map((k) => k + 1)]) };
}

/** Whether every guard on a clock gives the same answer throughout the zone, now and until it starts again. */
function isDead(zone: Zone, clock: number, { upper }: ClockLimits): boolean {
  return upper === UNCOMPARED ? isUnbounded(zone, clock) : lowest(zone, clock) > upper;
}

/**
 * The clocks of inputs keep them from turning too soon; those of timers and of changes in flight are compared with the least and the latest time
 * at which they are due, and nothing else reads them; those of doors are read as positions, so that all of them counts.
 */
function limitsOf({ network, slots, state }: Instant, slot: number): ClockLimits {
  const e = network.elements.length;
  if (slot < e) return dueLimits(network.elements[slot]!.preset);
  const pending = slot - slots.pending(0, 0);
  if (pending < e * network.inFlight)
    return dueLimits(state.queues[Math.floor(pending / network.inFlight)]![pending % network.inFlight]!.due);
  const input = slot - slots.input(0);
  if (input < 0) return { lower: Infinity, upper: Infinity };
  const { net, minOn, minOff } = network.inputs[input]!;
  return { lower: state.nets[net] === 1 ? minOn : minOff, upper: UNCOMPARED };
}

const dueLimits = ({ lo, hi }: Range): ClockLimits => ({ lower: lo, upper: hi });

/** No clock may pass the latest time it is due. */
function* invariants(at: Instant, slots: readonly number[], zone: Zone): Steps<boolean> {
  return yield* keeps(zone, slots, latestTimes(at), 0);
}

/**
 * Cuts a zone to where each clock is `before` microseconds or more below its latest time; false where nothing is left. With one, whether a state
 * entered so may last: what is left at once is seen by nobody.
 */
function* keeps(
  zone: Zone,
  slots: readonly number[],
  latest: readonly (readonly [slot: number, latest: number])[],
  before: 0 | 1,
): Steps<boolean> {
  const clockOf = new Map(slots.map((slot, k) => [slot, k + 1]));
  for (const [slot, time] of latest) {
    const clock = clockOf.get(slot) ?? 0;
    if (isLarge(zone) && time - before < highest(zone, clock)) yield null;
    if (!atMost(zone, clock, time - before)) return false;
  }
  return true;
}

/** Every clock that has to fire, with the latest time at which it may. */
function latestTimes({ network, slots, state }: Instant): [slot: number, latest: number][] {
  const latest: [number, number][] = [];
  network.elements.forEach(({ preset }, e) => {
    if (state.running[e] === 1) latest.push([slots.timer(e), preset.hi]);
    state.queues[e]!.forEach(({ due }, place) => latest.push([slots.pending(e, place), due.hi]));
  });
  state.doors.forEach(({ phase, due }, d) => {
    if (phase === 'opening' || phase === 'closing') latest.push([slots.door(d), due.hi]);
  });
  return latest;
}
