/** Edges of one round in one order, to compare records of different makers. */
import type { Rig } from '../../server/core/model/rig';

interface Change {
  readonly t: number;
  readonly net: number;
}

const isJoin = ({ network, controller }: Rig, net: number): boolean => {
  const { kind, index } = network.nets[net];
  const element = kind === 'element' ? network.elements[index] : undefined;
  return controller.style === 'response' && element?.kind === 'LOGIC' && element.response.nominal === 0;
};

/** Joins of one round follow each other, and settle at once: in order of nets. Before every other round something else changes. */
export function inRounds<E extends Change>(rig: Rig, edges: readonly E[]): readonly E[] {
  const sorted = [...edges];
  for (let i = 0; i < sorted.length;) {
    let end = i;
    while (end < sorted.length && isJoin(rig, sorted[end].net) && sorted[end].t === sorted[i].t) end++;
    const run = sorted.slice(i, end).sort((a, b) => a.net - b.net);
    sorted.splice(i, run.length, ...run);
    i = Math.max(end, i + 1);
  }
  return sorted;
}
