/**
 * The section as plain data: chambers and doors of all stacks with what is needed to draw them to scale. SI units. Where the doors
 * are at a moment comes from a timing model, what chambers hold from `Contents`.
 */
import type { Source } from '../../model/problem';
import type { Chamber, Door, Rig } from '../../model/rig';
import { formatSi } from '../../units/units';
import type { Table } from '../kit/table';
import { travelText } from '../kit/travel-text';
import { kindWord } from '../kit/kind-words';
import { say } from '../../words/say';

/** How full a chamber is over time: `points` rising in time, `value` in `unit`; `full` is what counts as fully shaded. */
export interface Contents {
  /** `chamber:NAME` */
  readonly chamber: string;
  readonly kind: 'density' | 'pressure' | 'level';
  readonly unit: string;
  readonly full: number;
  readonly points: readonly { readonly t: number; readonly value: number }[];
}

export interface SectionChamber {
  readonly kind: 'chamber';
  /** `chamber:NAME` */
  readonly id: string;
  readonly name: string;
  readonly source: Source;
  /** m3; null where not given (drawn with a dashed wall, not to scale). */
  readonly volume: number | null;
  /** m2; null where not given (drawn as wide as high). */
  readonly floorArea: number | null;
  /** `6 m3, at the start 1.02 bar` */
  readonly detail: string;
}

export interface SectionDoor {
  readonly kind: 'door';
  /** `door:NAME` */
  readonly id: string;
  readonly name: string;
  readonly source: Source;
  /** m3; null where not given. */
  readonly pocket: number | null;
  /** m3 */
  readonly clearance: number;
  /** m; null where not given. */
  readonly bore: number | null;
  readonly detail: string;
}

export type SectionMember = SectionChamber | SectionDoor;

/** One line of flow, upstream first; chambers shared with other stacks have the same id in both. */
export interface SectionStack {
  readonly id: string;
  /** Ids of members. */
  readonly members: readonly string[];
}

export interface SectionModel {
  readonly title: string;
  readonly phase: 'gas' | 'liquid' | 'packed' | null;
  readonly members: readonly SectionMember[];
  readonly stacks: readonly SectionStack[];
  readonly tables: readonly Table[];
}

/** The section of a rig. */
export function sectionModel(rig: Rig): SectionModel {
  const chambers = rig.chambers.map(chamberMember);
  const doors = rig.doors.map(doorMember);
  const stacks = rig.stacks.map((stack, k) => ({
    id: `stack:${k}`,
    members: stack.members.flatMap((m) => (m.kind === 'chamber' ? chambers : doors)[m.index]?.id ?? []),
  }));
  const used = new Set(stacks.flatMap((s) => s.members));
  const members = [...chambers, ...doors].filter((m) => used.has(m.id));
  return {
    title: rig.title || rig.name,
    phase: rig.medium?.phase ?? null,
    members,
    stacks,
    tables: [memberTable(members, stacks)],
  };
}

function chamberMember(chamber: Chamber): SectionChamber {
  const { pressure, density, mass, level } = chamber;
  const held: (string | null)[] = [
    pressure && formatSi(pressure.nominal, 'pressure'),
    density && formatSi(density.nominal, 'density'),
    mass && formatSi(mass.nominal, 'mass'),
    level && say`level ${formatSi(level.nominal, 'length')}`,
  ];
  const start = held.filter((h) => h !== null).join(', ');
  const parts = [
    chamber.volume && formatSi(chamber.volume.nominal, 'volume'),
    start !== '' && say`at the start ${start}`,
  ];
  return {
    kind: 'chamber',
    id: `chamber:${chamber.name}`,
    name: chamber.name,
    source: chamber.at,
    volume: positive(chamber.volume?.nominal),
    floorArea: positive(chamber.floorArea?.nominal),
    detail: parts.filter((p) => !!p).join(', '),
  };
}

function doorMember(door: Door): SectionDoor {
  const area = positive(door.area?.nominal);
  const bore = area === null ? null : Math.sqrt((4 * area) / Math.PI);
  const parts = [
    door.pocket && say`pocket ${formatSi(door.pocket.nominal, 'volume')}`,
    bore !== null && say`bore ${formatSi(bore, 'length')}`,
    travelText(door),
  ];
  return {
    kind: 'door',
    id: `door:${door.name}`,
    name: door.name,
    source: door.at,
    pocket: positive(door.pocket?.nominal),
    clearance: door.clearance?.nominal ?? 0,
    bore,
    detail: parts.filter((p) => p !== null && p !== false).join(', '),
  };
}

/** A size that can be drawn; zero, negative and absent ones cannot. */
function positive(value: number | undefined): number | null {
  return value !== undefined && value > 0 && Number.isFinite(value) ? value : null;
}

function memberTable(members: readonly SectionMember[], stacks: readonly SectionStack[]): Table {
  const order = [...new Set(stacks.flatMap((s) => s.members))];
  const rows = order.map((id) => members.find((m) => m.id === id)!);
  return {
    caption: say`Stack, upstream first`,
    columns: [say`Name`, say`What`, say`Size`],
    rows: rows.map((m) => ({ id: m.id, cells: [m.name, kindWord(m.kind), m.detail], source: m.source })),
  };
}
