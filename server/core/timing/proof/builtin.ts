/** Properties that every rig is asked for without any `require`. */
import type { Rig } from '../../model/rig';
import type { Property } from './monitor';

export function builtinProperties(rig: Rig, initial: (net: number) => boolean): Property[] {
  return [...pathProperties(rig), ...pocketProperties(rig), ...restProperties(rig, initial)];
}

function pathName(rig: Rig, stack: number): string {
  const chambers = rig.stacks[stack]!.members.filter((m) => m.kind === 'chamber').map(
    (m) => rig.chambers[m.index]!.name,
  );
  return `${chambers[0] ?? '?'} to ${chambers[chambers.length - 1] ?? '?'}`;
}

const doorsOf = (rig: Rig, stack: number): number[] =>
  rig.stacks[stack]!.members.filter((m) => m.kind === 'door').map((m) => m.index);

function pathProperties(rig: Rig): Property[] {
  return rig.stacks.flatMap((_, s): Property[] => {
    const doors = doorsOf(rig, s);
    if (doors.length === 0) return [];
    const name = pathName(rig, s);
    return [
      { kind: 'straight-through', name: `no straight-through path from ${name}`, doors },
      { kind: 'power-loss', name: `no straight-through path from ${name} when power is lost`, doors },
    ];
  });
}

/** A door with a pocket that closes while the doors next to it are shut traps what it pushes out. */
function pocketProperties(rig: Rig): Property[] {
  return rig.stacks.flatMap(({ members }) =>
    members.flatMap((member, k): Property[] => {
      if (member.kind !== 'door' || !rig.doors[member.index]!.pocket) return [];
      const neighbour = (at: number): number => (members[at]?.kind === 'door' ? members[at].index : -1);
      const above = neighbour(k - 1);
      const below = neighbour(k + 1);
      if (above < 0 || below < 0) return [];
      const name = `no trapped pocket when ${rig.doors[member.index]!.name} closes`;
      return [{ kind: 'trapped-pocket', name, door: member.index, above, below }];
    }),
  );
}

function restProperties(rig: Rig, initial: (net: number) => boolean): Property[] {
  const inputs = new Map([...rig.switches, ...rig.sensors].map((i) => [i.net, initial(i.net)] as const));
  return rig.doors.map((door, d) => ({
    kind: 'left-open',
    name: `${door.name} not left ${door.rest === 'open' ? 'shut' : 'open'} at rest`,
    door: d,
    initialInputs: inputs,
  }));
}

/** Properties that requirements about always and never ask for; null where the requirement is of another kind. */
export function requirementProperty(rig: Rig, requirement: Rig['requirements'][number]): Property | null {
  const name = requirement.text;
  const doors = requirement.args.flatMap((a) => (a.kind === 'item' && a.of === 'door' ? [a.index] : []));
  switch (requirement.metric) {
    case 'never': {
      const [argument] = requirement.args;
      if (argument?.kind === 'condition') return { kind: 'never', name, condition: argument.condition };
      return doors.length === 1 ? { kind: 'never', name, condition: { op: 'door', door: doors[0]! } } : null;
    }
    case 'gap': {
      const least = requirement.comparison;
      if (doors.length !== 2 || !least || !['>=', '>', 'in'].includes(least.operator)) return null;
      return {
        kind: 'gap',
        name,
        doors: [doors[0]!, doors[1]!],
        least: least.low.nominal + (least.operator === '>' ? 1 : 0),
      };
    }
    case 'order': {
      const events = requirement.args.flatMap((a) => (a.kind === 'event' ? [{ door: a.door, event: a.event }] : []));
      return events.length === requirement.args.length && events.length > 0 ? { kind: 'order', name, events } : null;
    }
    default:
      return null;
  }
}
