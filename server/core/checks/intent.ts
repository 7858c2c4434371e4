/** What the text states as meant: requirements and sequences that speak of a pair of doors, a timer, a door at rest. */
import type { Rig } from '../model/rig';
import { doorsNamed } from '../model/logic';

const ABOUT_PAIRS = new Set(['overlap', 'gap', 'order', 'never']);

/**
 * Whether the text says how two doors stand to each other: a requirement `overlap`, `gap`, `order` or `never` that names both, or a
 * sequence that opens them together.
 */
export function isPairStated(rig: Rig, a: number, b: number): boolean {
  const required = rig.requirements.some((r) => {
    const doors = ABOUT_PAIRS.has(r.metric) ? doorsNamed(rig, r) : [];
    return doors.includes(a) && doors.includes(b);
  });
  return required || openTogetherInSequence(rig, a, b);
}

/** Whether a requirement wants both fully open together for some time. */
export function isOverlapWanted(rig: Rig, a: number, b: number): boolean {
  const wanted = rig.requirements.some((r) => {
    const doors = r.metric === 'overlap' ? doorsNamed(rig, r) : [];
    const atLeast = r.comparison !== null && ['>=', '>', 'in', '='].includes(r.comparison.operator);
    return atLeast && doors.includes(a) && doors.includes(b);
  });
  return wanted || openTogetherInSequence(rig, a, b);
}

/** Whether some sequence holds both doors open at the same time, by the times of its steps. */
function openTogetherInSequence(rig: Rig, a: number, b: number): boolean {
  return rig.sequences.some((sequence) => {
    const steps = [...sequence.steps].sort((x, y) => x.at.nominal - y.at.nominal || Number(x.open) - Number(y.open));
    const open = new Set<number>();
    return steps.some((step, i) => {
      for (const door of step.doors) {
        if (step.open) open.add(door);
        else open.delete(door);
      }
      const next = steps[i + 1]?.at.nominal ?? Infinity;
      return open.has(a) && open.has(b) && next > step.at.nominal;
    });
  });
}

/** Whether a requirement of this metric names the item. */
export function isStated(rig: Rig, metric: string, of: 'door' | 'signal', index: number): boolean {
  return rig.requirements.some(
    (r) => r.metric === metric && r.args.some((a) => a.kind === 'item' && a.of === of && a.index === index),
  );
}

/** Whether any requirement of this metric exists. */
export function isRequired(rig: Rig, metric: string): boolean {
  return rig.requirements.some((r) => r.metric === metric);
}
