/** Places that make a window what it is: the timers in its chains of causes. */
import type { RelatedPlace } from '../../model/problem';
import type { Rig } from '../../model/rig';
import type { CauseLink } from '../../timing/facts';
import { formatTime } from '../../units/units';
import type { Opening } from '../../timing/course';
import { doorName } from '../metric';
import { say } from '../../words/say';

/** The timers that ran out in a chain, as places with what each did. */
export function timerPlaces(rig: Rig, chain: readonly CauseLink[], effect: string): RelatedPlace[] {
  return chain.flatMap((link) => {
    const element = elementOf(rig, link);
    if (!element || link.preset === 0) return [];
    const at = element.preset?.at ?? element.at;
    return [{ at, message: say`${link.name} runs out after ${formatTime(link.preset)}: ${effect}.` }];
  });
}

/** The element that a link of a chain stands for, if it is one. */
export function elementOf(rig: Rig, link: CauseLink) {
  const net = link.kind === 'element' ? rig.network.nets[link.index] : undefined;
  return net?.kind === 'element' ? rig.network.elements[net.index] : undefined;
}

/** Why the door opens and why it closes. */
export function doorPlaces(rig: Rig, opening: Opening): RelatedPlace[] {
  const name = doorName(rig, opening.door);
  const { from, to } = opening.notShut;
  return [
    ...timerPlaces(rig, opening.opensBecause, say`${name} leaves its seat at ${formatTime(from)}`),
    ...(to === null ? [] : timerPlaces(rig, opening.closesBecause, say`${name} is shut at ${formatTime(to)}`)),
  ];
}
