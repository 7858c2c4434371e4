/** What the text states about two doors: asked for open together, asked for apart, put in an order, written so in a sequence. */
import { doorsNamed } from '../../model/logic';
import type { Requirement, Rig, Sequence } from '../../model/rig';

export type Pair = readonly [number, number];

export interface PairIntent {
  readonly overlap: Requirement | undefined;
  readonly gap: Requirement | undefined;
  /** A `never` that names both. */
  readonly never: Requirement | undefined;
  /** An `order` that names both, or a sequence that has both open at once: open together without being faulty. */
  readonly meant: boolean;
}

/** What is stated about a pair. */
export function intentOf(rig: Rig, pair: Pair): PairIntent {
  const about = (metric: string) => rig.requirements.find((r) => r.metric === metric && names(rig, r, pair));
  return {
    overlap: about('overlap'),
    gap: about('gap'),
    never: about('never'),
    meant: about('order') !== undefined || rig.sequences.some((s) => opensTogether(s, pair)),
  };
}

function names(rig: Rig, requirement: Requirement, [a, b]: Pair): boolean {
  const doors = doorsNamed(rig, requirement);
  return doors.includes(a) && doors.includes(b);
}

function opensTogether(sequence: Sequence, [a, b]: Pair): boolean {
  const open = new Set<number>();
  // Of steps at one time those that close come first: a door handed over to the next is not open with it.
  const steps = [...sequence.steps].sort((x, y) => x.at.nominal - y.at.nominal || Number(x.open) - Number(y.open));
  return steps.some((step) => {
    for (const door of step.doors) {
      if (step.open) open.add(door);
      else open.delete(door);
    }
    return open.has(a) && open.has(b);
  });
}

/** Is an overlap of the two asked for (at least some of it), or written in a sequence? */
export function isOverlapWanted(rig: Rig, pair: Pair): boolean {
  const { overlap } = intentOf(rig, pair);
  const operator = overlap?.comparison?.operator;
  const asked = operator !== undefined && ['>=', '>', 'in', '='].includes(operator);
  return asked || rig.sequences.some((s) => opensTogether(s, pair));
}
