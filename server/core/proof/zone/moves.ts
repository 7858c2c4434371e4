/**
 * What may happen next in a rig in response style. A candidate is one change that may
 * happen at an instant. One step is all that happens at one instant to candidates that can reach a common element
 * or door, as in the event engine: inputs that turn and changes in flight that are due come together, in rounds; then the timers that are
 * due run out one after the other, those that feed others first; then doors see what came of it. Candidates that reach nothing in common
 * are taken one after the other, in any order, with no time between them, which gives the same result.
 *
 * Choices are made one candidate at a time, and a choice that no point of the zone allows is dropped with all that would follow from it.
 *
 * The reduction is sound because two candidates that reach no common element or door commute: their steps, in either order with no time between,
 * lead to the same state as the step of both. What can meet must be tried together as well as apart, because rounds at one moment give
 * another result than two moments one after the other (a timer whose input goes off at its end).
 *
 * Invariant of a move: for each candidate not chosen, the zone lies below its latest time, so leaving it for later forces nothing now.
 */
import { runRounds, takePending, expire, type Change } from './blocks';
import { constrain, copyZone, isLarge, type Zone } from './dbm';
import type { DoorState, Instant, Slots } from './discrete';
import { arrive } from './door-steps';
import type { ProofNetwork, Range } from '../network';
import type { Later } from '../explore';
import type { InputChoices } from './input-choices';
import { groups, type Reach } from './reach';
import type { RigState } from './system';

/** What happened in a step, for the counter-example: every fired clock with its bounds. */
export interface RigLabel {
  /** Inputs that turned (index into the network's inputs), with their new values. */
  readonly inputs: readonly { readonly index: number; readonly value: boolean }[];
  /** Clocks that fire: slot and the range it must lie in. */
  readonly fired: readonly Fired[];
  /** Clocks that must not have gone beyond this bound. */
  readonly below: readonly Below[];
  /** A net changed that counts as free: no counter-example. */
  readonly free: boolean;
}

/** A clock that reaches its time in this step. */
interface Fired {
  readonly slot: number;
  readonly due: Range;
}

/** A clock that must still have time left after this step. */
interface Below {
  readonly slot: number;
  readonly bound: number;
}

/** One way on from a state: the part of its zone that allows it, and what to do at the instant. */
export interface Move {
  readonly label: RigLabel;
  readonly zone: Zone;
  act(at: Instant): void;
}

/** One change that may happen at an instant, or not. */
export interface Candidate {
  readonly id: number;
  /** Ids of others that happen with it, in one or another of its ways. */
  readonly standsFor?: readonly number[];
  /** The candidate without which, chosen for the same instant, this one does not happen. */
  readonly after?: number;
  /** What keeps it from having to happen. */
  readonly not: readonly Below[];
  /** The ways in which it happens. */
  readonly ways: readonly Way[];
}

/** One way in which a candidate can happen. */
export interface Way {
  readonly fired: readonly Fired[];
  readonly below: readonly Below[];
  /** Inputs that turn, one after the other. */
  readonly inputs?: RigLabel['inputs'];
  readonly free?: true;
  /** A timer that runs out: its element; else what changes. */
  readonly timer?: number;
  changes?(at: Instant): readonly Change[];
}

/** Inputs that may turn at one instant, of which sets are taken by their size: the larger ones wait until all else that takes fewer operations is done. */
const MANY_INPUTS = 8;

/**
 * Everything that may happen next, one instant each; null after a choice that no point of the zone allows. What comes after `later` takes at least that
 * number of operations.
 */
export function* movesOf(
  network: ProofNetwork,
  slots: Slots,
  reach: Reach,
  state: RigState,
  needed: InputChoices,
): Generator<Move | Later | null> {
  // A door that arrives touches no net: its arrival is a step by itself and meets nothing else.
  for (let d = 0; d < state.discrete.doors.length; d++) yield* doorMoves(slots, state, d);
  const candidates = [
    ...expiries(network, slots, state),
    ...arrivals(network, slots, state),
    ...freeCandidates(network, state),
    ...inputCandidates(network, slots, state),
  ];
  const large: (readonly Candidate[])[] = [];
  for (const group of groups(candidates, reach, state.discrete)) {
    const fewer = needed(group, state.discrete);
    if (inputsIn(network, fewer) > MANY_INPUTS) large.push(fewer);
    else if (fewer.length > 0) yield* choices(network, slots, reach, state, fewer);
  }
  const most = Math.max(0, ...large.map((group) => inputsIn(network, group)));
  for (let turning = 0; large.length > 0 && turning <= most; turning++) {
    if (turning > 1) yield { later: turning };
    for (const group of large) yield* choices(network, slots, reach, state, group, turning);
  }
}

const isInput = ({ inputs }: ProofNetwork, { id }: Candidate): boolean => id < inputs.length;
const inputsIn = (network: ProofNetwork, group: readonly Candidate[]): number =>
  group.filter((candidate) => isInput(network, candidate)).length;

function* doorMoves(slots: Slots, state: RigState, d: number): Generator<Move> {
  const door = state.discrete.doors[d]!;
  if (!isMoving(door)) return;
  const fired = [{ slot: slots.door(d), due: door.due }];
  const zone = narrowed(state, state.zone, fired, []);
  if (!zone) return;
  const label = { inputs: [], fired, below: [], free: false };
  yield { label, zone, act: (at) => arrive(at, d, door.phase === 'opening') };
}

/**
 * Every choice of candidates of a group to happen together, the others not being so late that they would have to. `turning`: how many of the inputs among them
 * turn; any number where null.
 */
function* choices(
  network: ProofNetwork,
  slots: Slots,
  reach: Reach,
  state: RigState,
  group: readonly Candidate[],
  turning: number | null = null,
): Generator<Move | null> {
  // Inputs from each place on: a level that has too few of them left is not gone into.
  const left = group.map((_, k) => inputsIn(network, group.slice(k)));
  // Depth first over the group, with `chosen` and `below` as stacks: each level restores them before it returns. A generator, so that
  // whoever asks for one move does not pay for all.
  const chosen: Way[] = [];
  const happening = new Set<number>();
  const below: Below[] = [];
  function* from(k: number, zone: Zone, doors: readonly number[], wanted: number | null): Generator<Move | null> {
    if (wanted !== null && (wanted < 0 || wanted > (left[k] ?? 0))) return;
    const candidate = group[k];
    if (!candidate) {
      yield chosen.length > 0 ? moveOf(network, slots, chosen, below, zone) : null;
      return;
    }
    // A thousand timers that started together are a thousand levels, each with its look at the whole zone.
    if (isLarge(zone)) yield null;
    // Not chosen: possible only while the candidate may still come later than now.
    const without = narrowed(state, zone, [], candidate.not);
    if (without) {
      below.push(...candidate.not);
      yield* from(k + 1, without, doors, wanted);
      below.length -= candidate.not.length;
    }
    if (candidate.after !== undefined && !happening.has(candidate.after)) return;
    happening.add(candidate.id);
    const others = wanted === null || !isInput(network, candidate) ? wanted : wanted - 1;
    // A door that must arrive now has arrived before its drive can turn.
    const moving = movingDoors(slots, reach, state, candidate).filter(({ slot }) => !doors.includes(slot));
    for (const way of candidate.ways) {
      const bounds = [...way.below, ...moving];
      const within = narrowed(state, zone, way.fired, bounds);
      if (!within) {
        yield null;
        continue;
      }
      chosen.push(way);
      below.push(...bounds);
      yield* from(k + 1, within, [...doors, ...moving.map(({ slot }) => slot)], others);
      below.length -= bounds.length;
      chosen.pop();
    }
    happening.delete(candidate.id);
  }
  yield* from(0, state.zone, [], turning);
}

/** The part of a zone within the bounds; the zone itself where it lies within them, null where nothing is left. */
function narrowed(state: RigState, zone: Zone, fired: readonly Fired[], below: readonly Below[]): Zone | null {
  // Zones are shared between states and levels of a choice: none is narrowed in place, and one is copied only where a bound cuts it. Of a
  // thousand timers that started together the first bound cuts for all: a copy for each would be a thousand matrices of a million entries.
  let next = zone;
  const keep = (i: number, j: number, bound: number): boolean => {
    if (bound >= next.d[i * next.n + j]!) return true;
    // Nothing would be left: seen before anything is copied.
    if (next.d[j * next.n + i]! + bound < 0) return false;
    if (next === zone) next = copyZone(zone);
    return constrain(next, i, j, bound);
  };
  const clockOf = (slot: number): number => state.slots.indexOf(slot) + 1;
  for (const { slot, bound } of below) if (!keep(clockOf(slot), 0, bound)) return null;
  for (const { slot, due } of fired) {
    if (!keep(0, clockOf(slot), -due.lo) || !keep(clockOf(slot), 0, due.hi)) return null;
  }
  return next;
}

/** The move of the chosen ways together: all changes in one instant, then the timers in their order. */
function moveOf(
  network: ProofNetwork,
  slots: Slots,
  chosen: readonly Way[],
  below: readonly Below[],
  zone: Zone,
): Move {
  const some = [...chosen];
  const timers = some
    .flatMap((way) => (way.timer === undefined ? [] : [way.timer]))
    // Timers that are due at one instant run out in the order in which they feed each other.
    .sort((a, b) => network.dueRank[a]! - network.dueRank[b]!);
  return {
    label: {
      inputs: some.flatMap((way) => way.inputs ?? []),
      fired: some.flatMap((way) => way.fired),
      below: [...below],
      free: some.some((way) => way.free),
    },
    zone,
    act(at) {
      runRounds(
        at,
        some.flatMap((way) => way.changes?.(at) ?? []),
      );
      for (const e of timers) {
        // One that was stopped in the rounds before, or started again, gives nothing.
        const slot = slots.timer(e);
        if (at.state.running[e] === 1 && at.clocks.get(slot) === slot) runRounds(at, expire(at, e));
      }
    },
  };
}

/**
 * Inputs turn at any moment, but not before the least time they stay as they are. They never have to (`not` is empty). Turning starts
 * the clock of that least time only where there is one, so that free inputs cost no clock.
 */
export function inputCandidates(
  network: ProofNetwork,
  slots: Slots,
  state: Pick<RigState, 'discrete' | 'slots'>,
): Candidate[] {
  return network.inputs.flatMap((input, index): Candidate[] => {
    if (input.frozen) return [];
    const value = state.discrete.nets[input.net] === 0;
    const least = value ? input.minOff : input.minOn;
    const slot = slots.input(index);
    // Its clock may have been forgotten: then the least time is over whatever its exact value.
    const waits = least > 0 && state.slots.includes(slot);
    const turning = input.together.map((other) => ({
      index: other,
      value: state.discrete.nets[network.inputs[other]!.net] === 0,
    }));
    const turns = (at: Instant, rounds: readonly boolean[]): Change[] =>
      turning.flatMap((turned) => turnsOf(network, slots, at, turned, rounds));
    const way: Way = {
      fired: waits ? [{ slot, due: { lo: least, hi: Infinity } }] : [],
      below: [],
      inputs: turning,
      changes: (at) => turns(at, [true]),
    };
    // A moved input cannot show before the response has passed since power-on. Turned at power-on, it shows when that has just passed: at the
    // first change of what reads it, or (where the first evaluation gave one already) at the second, in a round of its own.
    if (input.shownFrom < 0 || state.discrete.nets[input.shownFrom] === 1) return [{ id: index, not: [], ways: [way] }];
    const second: Way = { ...way, changes: (at) => turns(at, [false, true]) };
    // Some of those it stands for in the first round, others in the second: which ones is not followed.
    const both: Way = { ...way, inputs: [], free: true, changes: (at) => turns(at, [true, false]) };
    const after = network.inputs.length + network.elements.findIndex(({ net }) => net === input.shownFrom);
    return [{ id: index, after, not: [], ways: input.flickers ? [way, second, both] : [way, second] }];
  });
}

/** Changes of an input that turns: for each round whether it then stands as turned. Starts the clock of its least time. */
function turnsOf(
  network: ProofNetwork,
  slots: Slots,
  at: Instant,
  { index, value }: { readonly index: number; readonly value: boolean },
  rounds: readonly boolean[],
): Change[] {
  const { net, minOn, minOff } = network.inputs[index]!;
  const last = rounds[rounds.length - 1] ? value : !value;
  if ((last ? minOn : minOff) > 0) at.clocks.set(slots.input(index), -1);
  else at.clocks.delete(slots.input(index));
  return rounds.map((turned) => [net, turned ? value : !value]);
}

/** Changes in flight: of those of one element that are due at once, the k-th belongs to the k-th round. */
function arrivals(network: ProofNetwork, slots: Slots, { discrete }: RigState): Candidate[] {
  return discrete.queues.flatMap((queue, element): Candidate[] => {
    if (queue.length === 0) return [];
    const fired = queue.map(({ due }, place) => ({ slot: slots.pending(element, place), due }));
    // Not taken now: its clock must still be below its latest time, or it would have had to come.
    const late = fired.map(({ slot, due }) => ({ slot, bound: due.hi - 1 }));
    // One way for each number of changes that come now: the first ones in the queue, since they never overtake each other.
    const ways = queue.map((_, last): Way => ({
      fired: fired.slice(0, last + 1),
      below: late.slice(last + 1, last + 2),
      changes: (at) => queue.slice(0, last + 1).map(() => takePending(at, element)),
    }));
    return [{ id: network.inputs.length + element, not: late.slice(0, 1), ways }];
  });
}

/**
 * Nets given up by `setFree`, or cut, may change at any moment; a path through one does not count as a counter-example. As many changes may come at one instant as
 * could be in flight, one a round: a pulse that is over within the instant is seen by those that read it.
 */
function freeCandidates(network: ProofNetwork, { discrete }: RigState): Candidate[] {
  return network.elements.flatMap(({ net }, element): Candidate[] => {
    if (discrete.free[element] === 0) return [];
    const ways = Array.from({ length: network.inFlight }, (_, more): Way => {
      const changes = (at: Instant): readonly Change[] =>
        Array.from({ length: more + 1 }, (_, k) => [net, (at.state.nets[net] === 0) === (k % 2 === 0)]);
      return { fired: [], below: [], free: true, changes };
    });
    return [{ id: network.inputs.length + element, not: [], ways }];
  });
}

/** Running timers: due between the ends of their preset, and never later than its upper end. */
function expiries(network: ProofNetwork, slots: Slots, { discrete }: RigState): Candidate[] {
  const first = network.inputs.length + network.elements.length;
  return network.elements.flatMap(({ preset: due }, e): Candidate[] => {
    if (discrete.running[e] === 0) return [];
    const slot = slots.timer(e);
    return [
      { id: first + e, not: [{ slot, bound: due.hi - 1 }], ways: [{ fired: [{ slot, due }], below: [], timer: e }] },
    ];
  });
}

const isMoving = (door: DoorState): boolean => door.phase === 'opening' || door.phase === 'closing';

/** Doors under way that a candidate may drive: their clocks must lie below their latest arrival. */
function movingDoors(slots: Slots, reach: Reach, { discrete }: RigState, { id, standsFor }: Candidate): Below[] {
  const doors = standsFor ? new Set([id, ...standsFor].flatMap((each) => reach.doors(each))) : reach.doors(id);
  return [...doors].flatMap((d) => {
    const door = discrete.doors[d]!;
    return isMoving(door) ? [{ slot: slots.door(d), bound: door.due.hi - 1 }] : [];
  });
}
