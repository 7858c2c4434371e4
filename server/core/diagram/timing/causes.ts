/** Why a change happens: its chain of causes, as edges and in words. */
import { timeText } from '../kit/time-text';
import type { Lane, TimingEdge } from './model';

/** Longest chain that is written out; an earlier start becomes `…`. */
const LONGEST_CHAIN = 12;

type Lanes = readonly Lane[];

/** Built when first asked for, kept as long as the lanes are. */
const indexes = new WeakMap<Lanes, ReadonlyMap<string, TimingEdge>>();

/** All edges by id. */
export function edgeIndex(lanes: Lanes): ReadonlyMap<string, TimingEdge> {
  const known = indexes.get(lanes);
  if (known) return known;
  const index = new Map<string, TimingEdge>();
  for (const lane of lanes) for (const edge of lane.edges) index.set(edge.id, edge);
  indexes.set(lanes, index);
  return index;
}

/** The change and what led to it, earliest first; empty for an unknown id. At most `longest` links, the latest ones. */
export function chainOf(lanes: Lanes, id: string, longest = 1_000): TimingEdge[] {
  const index = edgeIndex(lanes);
  const chain: TimingEdge[] = [];
  let edge = index.get(id);
  while (edge && chain.length < longest) {
    chain.push(edge);
    edge = edge.cause === null ? undefined : index.get(edge.cause);
  }
  return chain.reverse();
}

/** The chain in words, earliest first: `ready on → start on (+50 ms) → upper_on off (+1.4 s +50 ms) → upper closes`. */
export function becauseText(lanes: Lanes, id: string): string {
  const chain = chainOf(lanes, id, LONGEST_CHAIN);
  const cut = chain[0] && chain[0].cause !== null ? '… → ' : '';
  return cut + chain.map(contribution).join(' → ');
}

function contribution(edge: TimingEdge): string {
  const parts = [edge.preset, edge.response, edge.travel].filter((us) => us > 0).map((us) => `+${timeText(us)}`);
  return parts.length > 0 ? `${edge.text} (${parts.join(' ')})` : edge.text;
}
