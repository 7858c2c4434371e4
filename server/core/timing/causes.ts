/**
 * Chains of causes: from an edge or a door move back to the operation from outside that led to it.
 *
 * The engine keeps one cause per edge: the last change that made the element look (`Network.touch`), or for a timer the change that
 * started it. So causes form a forest whose roots are operations (cause −1), `cause < index` always holds, and following it is linear. One
 * cause out of several inputs is a choice: the last to come is the one that decided the moment, which is what "why does it open then" asks.
 * The times along a chain add up: each edge comes `response + preset` after its cause (`orders/trace-forms.ts` relies on it).
 */
import type { Rig } from '../model/rig';
import type { CauseLink } from './facts';
import type { DoorMove, NetEdge, Trace } from './trace';

/** A free-running oscillator makes chains as long as the run; beyond this the oldest links are left out. */
const LONGEST_CHAIN = 1000;

function linkOf(rig: Rig, edge: NetEdge): CauseLink {
  const net = rig.network.nets[edge.net]!;
  return {
    t: edge.t,
    kind: net.kind,
    index: edge.net,
    name: net.name,
    value: edge.value,
    response: edge.response,
    preset: edge.preset,
    travel: 0,
  };
}

/** Indices of the edges that led to edge `last`, it included, first cause first. */
export function chainOf(edges: readonly NetEdge[], last: number): number[] {
  const chain: number[] = [];
  for (let i = last; i >= 0 && chain.length < LONGEST_CHAIN; i = edges[i]!.cause) chain.push(i);
  return chain.reverse();
}

/** The chain of a change of a net, by its index into the edges of the trace. */
export const causesOfEdge = (rig: Rig, trace: Trace, edge: number): CauseLink[] =>
  chainOf(trace.edges, edge).map((i) => linkOf(rig, trace.edges[i]!));

/** The chain of a door move, closed by the door itself: the time it arrives, with its travel. */
export function causesOfMove(rig: Rig, trace: Trace, door: number, move: DoorMove): CauseLink[] {
  const links = chainOf(trace.edges, move.cause).map((i) => linkOf(rig, trace.edges[i]!));
  const last: CauseLink = {
    t: move.arrives,
    kind: 'door',
    index: door,
    name: rig.doors[door]!.name,
    value: move.to === 1,
    response: 0,
    preset: 0,
    travel: move.arrives - move.t,
  };
  return [...links, last];
}
