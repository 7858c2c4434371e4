/**
 * What may be noticed together at one instant: for each change that may happen, the elements and doors that could look at it before the instant is over.
 * Changes that have none of them in common commute, so that they are taken one after the other with no time between (see moves.ts).
 *
 * Where a signal passes on without a response depends on the state: a timer gives nothing within the instant in which it is started, so an input that only
 * starts one (a TON that is off) reaches that timer and no further. Of twenty-six sensors that each start a timer there would else be 2²⁶ choices
 * at an instant, of which twenty-six are needed.
 */
import type { ProofNetwork } from '../network';
import type { Discrete } from './discrete';
import type { Candidate } from './moves';

export interface Reach {
  /**
   * Elements, and doors numbered after them, that could notice a candidate within an instant that begins in this state; in any state where it is null.
   * Candidates are numbered: inputs, then responses of elements, then timers of elements.
   */
  parts(candidate: number, state: Discrete | null): readonly number[];
  /** Doors that a candidate may drive at once, whatever the state. */
  doors(candidate: number): readonly number[];
}

/** Made once a network; what it is asked about is computed when it is asked. */
export function reachOf(network: ProofNetwork): Reach {
  const { inputs, elements } = network;
  const mayHold = elements.some((_, e) => isTimerAtOnce(network, e));
  const cones: (readonly number[] | undefined)[] = [];
  const doors: (readonly number[] | undefined)[] = [];
  // A change in flight or an input reaches what its net feeds; a timer reaches its own element first, whose response may hold it there.
  const from = (candidate: number, state: Discrete | null): readonly number[] => {
    if (candidate < inputs.length) return coneOf(network, inputs[candidate]!.net, state);
    const responding = candidate - inputs.length;
    if (responding < elements.length) return coneOf(network, elements[responding]!.net, state);
    const timer = responding - elements.length;
    const { net, response } = elements[timer]!;
    return response.hi > 0 ? [timer] : [timer, ...coneOf(network, net, state)];
  };
  const inAnyState = (candidate: number): readonly number[] => (cones[candidate] ??= from(candidate, null));
  const drivenBy = (candidate: number): readonly number[] =>
    inAnyState(candidate).flatMap((part) => (part < elements.length ? [] : [part - elements.length]));
  return {
    parts: (candidate, state) => (mayHold && state !== null ? from(candidate, state) : inAnyState(candidate)),
    doors: (candidate) => (doors[candidate] ??= drivenBy(candidate)),
  };
}

/** Elements evaluated, and doors (numbered after them) driven, at the instant a net changes. */
function coneOf(network: ProofNetwork, start: number, state: Discrete | null): readonly number[] {
  const cone = new Set<number>();
  const open = [start];
  for (let net = open.pop(); net !== undefined; net = open.pop()) {
    for (const door of network.driven[net]!) cone.add(network.elements.length + door);
    for (const reader of network.readers[net]!) {
      if (cone.has(reader)) continue;
      cone.add(reader);
      const { response, net: out } = network.elements[reader]!;
      if (response.hi === 0 && !(state !== null && givesNothing(network, state, reader))) open.push(out);
    }
  }
  return [...cone];
}

/** A timer that answers without a response, and not at once: what follows an edge that starts it comes at a later instant. */
function isTimerAtOnce({ elements }: ProofNetwork, e: number): boolean {
  const { kind, response, preset } = elements[e]!;
  return (kind === 'TON' || kind === 'TOF' || kind === 'TP') && response.hi === 0 && preset.lo > 0;
}

/**
 * Whether a timer gives nothing however its input turns within one instant, again and again: an on-delay that is off, an off-delay or a pulse that is on. That
 * it runs out at this very instant is a candidate of its own, which reaches the element and all that it feeds, so that it is taken together with these.
 */
function givesNothing(network: ProofNetwork, state: Discrete, e: number): boolean {
  return isTimerAtOnce(network, e) && (state.outputs[e] === 1) !== (network.elements[e]!.kind === 'TON');
}

/** Candidates that meet, directly or by others of them, at an instant that begins in this state (in any where it is null). */
export function groups(candidates: readonly Candidate[], reach: Reach, state: Discrete | null): Candidate[][] {
  const found: Group[] = [];
  const noticing = new Map<number, Group>();
  for (const candidate of candidates) {
    const parts = reach.parts(candidate.id, state);
    const near = new Set<Group>();
    for (const part of parts) {
      const group = noticing.get(part);
      if (group) near.add(groupNow(group));
    }
    // Meeting is not transitive, being in one group is: those that the new candidate joins become one.
    const joined: Group = { members: [], into: null };
    for (const group of found.filter((g) => near.has(g))) {
      joined.members.push(...group.members);
      group.into = joined;
      found.splice(found.indexOf(group), 1);
    }
    joined.members.push(candidate);
    found.push(joined);
    for (const part of parts) noticing.set(part, joined);
  }
  return found.map(({ members }) => members);
}

/** `into`: the group that it has become part of. */
interface Group {
  readonly members: Candidate[];
  into: Group | null;
}

function groupNow(group: Group): Group {
  let now = group;
  while (now.into !== null) now = now.into;
  // What was passed is led straight there: of a chain of joined groups each is walked once.
  for (let at = group; at.into !== null && at.into !== now;) {
    const next: Group = at.into;
    at.into = now;
    at = next;
  }
  return now;
}
