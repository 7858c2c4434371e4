/** What a rig's controller drives, as outputs of an export. */
import type { Rig } from '../../model/rig';

/** What is driven: a door, a feed or a draw, by its drives. Several drives of one target count as one or the other. */
export interface Output {
  readonly name: string;
  readonly kind: 'door' | 'feed' | 'draw';
  readonly nets: readonly number[];
}

/** The outputs of a rig's controller, doors first, in order of declaration. */
export function outputsOf(rig: Rig): Output[] {
  const nets = (kind: 'door' | 'line', target: number) =>
    rig.drives.filter((d) => (d.kind === 'door') === (kind === 'door') && d.target === target && d.net >= 0);
  const doors = rig.doors.map((door, index) => ({
    name: door.name,
    kind: 'door' as const,
    nets: nets('door', index).map((d) => d.net),
  }));
  const lines = rig.lines.map((line, index) => ({
    name: line.name,
    kind: line.kind,
    nets: nets('line', index).map((d) => d.net),
  }));
  return [...doors, ...lines].filter((output) => output.nets.length > 0);
}
