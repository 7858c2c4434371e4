/**
 * Loops of elements that answer one another in no time. Where one goes round without end, the event engine has no state from that moment on, so that
 * nothing about the rig after it is known, whatever part a question is about: with such a loop nothing is proved. Whether one may is asked of
 * a search of its own (the searches of a question do not see what lies outside its cone, the equations of rest see no moments at all).
 */
import { readersOf } from '../model/logic';
import type { Rig } from '../model/rig';
import { feedingOrder } from '../timing/feeding';
import type { Property } from './monitor';
import { say } from '../words/say';

/** A loop of elements without response: the nets of its elements as written, and a question that is open where the loop may go round without end. */
export interface InstantLoop {
  readonly nets: readonly number[];
  readonly question: Property;
}

/** Loops through which a change can come back to where it began within one instant; scanned controllers evaluate once a scan and have none. */
export function instantLoops(rig: Rig): InstantLoop[] {
  if (rig.controller.style === 'scan') return [];
  const { elements, nets } = rig.network;
  const readers = readersOf(nets.length, elements);
  const isInstant = elements.map(({ response }) => response.min === 0);
  const fed = elements.map(({ net }, e) => (isInstant[e] ? readers[net]!.filter((reader) => isInstant[reader]) : []));
  const { looped, loopOf } = feedingOrder(elements.length, (e) => fed[e]!);
  const loops = new Map<number, number[]>();
  elements.forEach(({ net }, e) => {
    if (looped[e] !== 1) return;
    const members = loops.get(loopOf[e]!);
    if (members) members.push(net);
    else loops.set(loopOf[e]!, [net]);
  });
  return [...loops.values()].map((members) => ({ nets: members, question: questionOf(members) }));
}

/** Asks for the cone of these nets and is never broken: what is left of it is whether the search meets a moment that never settles. */
function questionOf(nets: readonly number[]): Property {
  const seen = nets.map((net) => ({ op: 'net', net }) as const);
  const condition = seen.reduce<Extract<Property, { kind: 'never' }>['condition']>((a, b) => ({ op: 'and', a, b }), {
    op: 'const',
    value: false,
  });
  return { kind: 'never', name: `settles: ${nets.join(' ')}`, condition };
}

/** Why nothing is proved of a rig in which this loop may never settle. */
export function loopReason(rig: Rig, { nets }: InstantLoop): string {
  const names = nets.map((net) => rig.network.nets[net]!.name);
  const shown = [...names.slice(0, MOST_NAMED), ...(names.length > MOST_NAMED ? ['…'] : []), names[0]!].join(' → ');
  return say`signals without response time form a loop that may never settle (${shown}); give one of them a response`;
}

/** Signals named of one loop. */
const MOST_NAMED = 6;
