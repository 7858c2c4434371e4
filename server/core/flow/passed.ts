/**
 * What a stroke brings along each stack. The gain of the last chamber is that only where nothing else takes from it or brings to it: a buffer
 * between two stages gains nothing by a repeating stroke, whatever passes through it, and two stacks may end in one chamber.
 */
import type { Stack } from '../model/rig';
import { beside } from '../units/noise';
import type { FlowModel } from './rig-model';
import type { Program } from './program';
import { flowsThrough } from './stroke-course';

/**
 * kg per stroke through each link of the network, downstream, feeds and draws off; null for one that stands in a ring with others.
 * @param masses what all cells hold before the first step of the program and after each
 */
export function passedBy(
  { network, leaks }: FlowModel,
  { steps, strokes }: Program,
  masses: readonly Float64Array[],
): (number | null)[] {
  const sums: (number | null)[] = network.links.map(() => 0);
  steps.forEach(({ notShut }, k) => {
    const gains = Array.from(masses[k + 1]!, (m, cell) => m - masses[k]![cell]!);
    if (gains.every((gain) => gain === 0)) return;
    // What leaks past shut doors passes their cells as well.
    const flows = flowsThrough(network, gains, leaks ? notShut.map(() => true) : notShut);
    flows.forEach((flow, link) => {
      sums[link] = flow === null || sums[link] === null ? null : sums[link]! + flow / strokes;
    });
  });
  const most = Math.max(...masses[0]!);
  return sums.map((sum) => (sum === null ? null : beside(sum, most)));
}

/** kg that a stroke brings into the last chamber of a stack, through it; the gain of that chamber where that is not known by itself (or is measured). */
export function alongStack(
  { network }: FlowModel,
  { gains, passed }: { readonly gains: ArrayLike<number>; readonly passed: readonly (number | null)[] },
  { members }: Stack,
): number {
  const [before, last] = members
    .slice(-2)
    .map(({ kind, index }) => (kind === 'door' ? network.chambers + index : index));
  const link = network.links.findIndex(({ a, b }) => a === before && b === last);
  return passed[link] ?? gains[last!]!;
}
