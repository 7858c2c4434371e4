/** What ends the longest pulse at a timer's input: the timers that ran out on the way to its falling edge. */
import { elementOf } from '../../metrics/timing/places';
import { lengthOf } from '../../timing/intervals';
import type { RelatedPlace } from '../../model/problem';
import type { Rig } from '../../model/rig';
import type { CauseLink } from '../../timing/facts';
import { chainOf } from '../../timing/causes';
import { formatTime } from '../../units/units';
import { inputsOf } from '../../model/logic';
import type { TimerInStroke } from './timers';
import { inputPulses } from './timers';
import { say } from '../../words/say';

export interface FeedingLink {
  readonly cause: CauseLink;
  readonly place: readonly RelatedPlace[];
}

/** Links of the chain that ends the longest pulse, first cause first; empty where nothing ends it. */
export function feedingChain(rig: Rig, { element, stroke: { trace } }: TimerInStroke): FeedingLink[] {
  const pulses = inputPulses(rig, trace, element).filter((p) => p.to !== null);
  const longest = pulses.reduce<(typeof pulses)[number] | null>(
    (a, b) => (a && lengthOf(a) >= lengthOf(b) ? a : b),
    null,
  );
  const inputs = inputsOf(element);
  const last = trace.edges.findIndex((e) => e.t === longest?.to && inputs.includes(e.net));
  if (last < 0) return [];
  return chainOf(trace.edges, last).map((i) => {
    const edge = trace.edges[i]!;
    const net = rig.network.nets[edge.net]!;
    const cause: CauseLink = { ...edge, kind: net.kind, index: edge.net, name: net.name, travel: 0 };
    const source = elementOf(rig, cause);
    const place =
      source?.preset && edge.preset > 0
        ? [
            {
              at: source.preset.at,
              message: say`${net.name} ends the pulse ${formatTime(edge.preset)} after its own input.`,
            },
          ]
        : [];
    return { cause, place };
  });
}
