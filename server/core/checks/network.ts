/** Who reads whom in a rig's control network. Pure look-ups over nets; nothing is simulated here. */
import type { Condition, Element, Logic, Rig } from '../model/rig';
import { conditionOf, netOfItem } from '../metrics/timing/never';

/** Nets that a boolean function reads. */
export function netsOf(logic: Logic | Condition): number[] {
  switch (logic.op) {
    case 'net':
      return [logic.net];
    case 'const':
    case 'door':
      return [];
    case 'not':
      return netsOf(logic.a);
    default:
      return [...netsOf(logic.a), ...netsOf(logic.b)];
  }
}

export function inputsOf(element: Element): number[] {
  return element.inputs.flatMap(netsOf);
}

/** All nets that `targets` depend on, the targets included. */
export function sourcesOf(rig: Rig, targets: readonly number[]): Set<number> {
  const found = new Set(targets);
  const open = [...found];
  while (open.length > 0) {
    const net = rig.network.nets[open.pop()!];
    const element = net?.kind === 'element' ? rig.network.elements[net.index] : undefined;
    for (const source of element ? inputsOf(element) : []) {
      if (found.has(source)) continue;
      found.add(source);
      open.push(source);
    }
  }
  return found;
}

/** Nets that move something: what drives read, and triggers of sequences. */
export function movingNets(rig: Rig): number[] {
  const triggers = rig.sequences.flatMap((s) => (s.triggerNet === null ? [] : [s.triggerNet]));
  return [...rig.drives.map((d) => d.net), ...triggers];
}

/** Nets that requirements speak of. */
export function requiredNets(rig: Rig): number[] {
  return rig.requirements.flatMap((r) =>
    r.args.flatMap((argument) => {
      const condition = conditionOf(rig, argument);
      const net = netOfItem(rig, argument);
      return [...(condition ? netsOf(condition) : []), ...(net === null ? [] : [net])];
    }),
  );
}

/** The drive of a door, or undefined. */
export function driveOf(rig: Rig, door: number): Rig['drives'][number] | undefined {
  return rig.drives.find((d) => d.kind === 'door' && d.target === door);
}

/** Whether a sequence itself moves the door. */
export function isSequenced(rig: Rig, door: number): boolean {
  return rig.sequences.some((s) => s.drives && s.steps.some((step) => step.doors.includes(door)));
}

/** Nets that decide about a door: what its drive and its driving sequences depend on. */
export function decidingNets(rig: Rig, door: number): Set<number> {
  const drives = rig.drives.filter((d) => d.kind === 'door' && d.target === door).map((d) => d.net);
  const triggers = rig.sequences
    .filter((s) => s.drives && s.triggerNet !== null && s.steps.some((step) => step.doors.includes(door)))
    .map((s) => s.triggerNet!);
  return sourcesOf(rig, [...drives, ...triggers]);
}
