/**
 * The section as plain data: chambers and doors of all stacks with what is needed to draw them to scale at any moment. SI units,
 * times in whole microseconds of the timing model of the same index.
 */
import type { Source } from '../model/problem';
import type { Table } from './table';
import type { DoorPoint } from './timing-model';

/** How full a chamber is over time: `points` rising in time, `value` in `unit`; `full` is what counts as fully shaded. */
export interface Contents {
  /** Index into the rig's chambers. */
  readonly chamber: number;
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
  /** `6 m³ · 1.02 bar` */
  readonly detail: string;
  readonly contents: Contents | null;
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
  readonly points: readonly DoorPoint[];
}

export type SectionMember = SectionChamber | SectionDoor;

/** One line of flow, upstream first; chambers shared with other stacks are the same object id. */
export interface SectionStack {
  readonly id: string;
  /** Ids of members. */
  readonly members: readonly string[];
}

export interface SectionModel {
  readonly id: string;
  readonly title: string;
  readonly phase: 'gas' | 'liquid' | 'packed' | null;
  readonly members: readonly SectionMember[];
  readonly stacks: readonly SectionStack[];
  readonly start: number;
  readonly end: number;
  readonly tables: readonly Table[];
}
