/**
 * The timing diagram as plain data: lanes, edges with their causes, marks between doors, bands, the table. Times are whole
 * microseconds from the trigger's edge. Every id is made from names and counts (`door:upper/opens/0`), so that it stays the same
 * when other parts of the text are edited.
 */
import type { Source } from '../model/problem';
import type { Table } from './table';

export type DoorEdgeKind = 'opens' | 'opened' | 'closes' | 'shuts' | 'turns';
export type LogicEdgeKind = 'on' | 'off';

/** One change on a lane. */
export interface TimingEdge {
  readonly id: string;
  /** Id of its lane. */
  readonly lane: string;
  readonly kind: DoorEdgeKind | LogicEdgeKind;
  readonly t: number;
  /** Earliest and latest within tolerance; both null where not worked out. */
  readonly min: number | null;
  readonly max: number | null;
  /** The edge that led to it; null for an operation from outside or one before the drawing starts. */
  readonly cause: string | null;
  /** What lies between cause and this edge: `+50 ms response`, `TOF 1.5 s`, `300 ms travel`; empty where nothing does. */
  readonly step: string;
  /** The whole chain in words, earliest first: `ready on → +50 ms start on → +50 ms upper_on on → upper opens`. */
  readonly because: string;
  readonly source: Source | null;
}

/** A point of a door's position (0 shut … 1 fully open); the position is linear between points. */
export interface DoorPoint {
  readonly t: number;
  readonly position: number;
}

export interface DoorLane {
  readonly kind: 'door';
  /** `door:NAME` */
  readonly id: string;
  readonly name: string;
  readonly source: Source;
  /** Index into the rig's doors. */
  readonly door: number;
  readonly points: readonly DoorPoint[];
  readonly edges: readonly TimingEdge[];
}

export interface LogicLane {
  /** `element`: an inner timer, edge, latch or counter call of a signal. */
  readonly kind: 'sensor' | 'switch' | 'signal' | 'element';
  /** `net:NAME` */
  readonly id: string;
  readonly name: string;
  /** `TOF 1.5 s`, `logic`, … for people; empty for inputs. */
  readonly detail: string;
  readonly source: Source;
  readonly net: number;
  readonly initial: boolean;
  readonly edges: readonly TimingEdge[];
}

export type Lane = DoorLane | LogicLane;

/**
 * Something between two doors over a time. `wanted`: an overlap asked for and within its limits; `short`: an overlap or gap asked
 * for and outside its limits; `unstated`: open together and nobody said so; `apart`: a gap asked for and kept.
 */
export interface PairMark {
  /** `pair:A+B/overlap/0` */
  readonly id: string;
  readonly kind: 'overlap' | 'gap';
  readonly verdict: 'wanted' | 'apart' | 'short' | 'unstated';
  /** Lane ids, upper lane first. */
  readonly lanes: readonly [string, string];
  readonly from: number;
  /** null: still so where the drawing ends. */
  readonly to: number | null;
  /** `overlap 250 ms`, `gap 150 ms`, `open together 90 ms` */
  readonly label: string;
  /** One sentence with numbers and what was asked for. */
  readonly text: string;
  /** The requirement, or the later door where none is stated. */
  readonly source: Source | null;
}

/** A time when a whole path of doors stands open. */
export interface Band {
  /** `path:INDEX/0` */
  readonly id: string;
  readonly from: number;
  readonly to: number | null;
  readonly label: string;
  readonly source: Source | null;
}

export interface TimingModel {
  /** `RIG/SENSOR on` (or `off`), `RIG/at rest`, `RIG/SCENARIO`; unique in its rig. */
  readonly id: string;
  /** The rig's title, or its name. */
  readonly title: string;
  /** What is drawn: `One stroke from ready on · repeats every 11.8 s`. */
  readonly subtitle: string;
  /** Recorded range; nothing is known outside it. */
  readonly start: number;
  readonly end: number;
  /** The part that *Fit* shows: a little before the trigger to the end of the first stroke or its repeat. */
  readonly home: { readonly from: number; readonly to: number };
  readonly lanes: readonly Lane[];
  readonly marks: readonly PairMark[];
  readonly bands: readonly Band[];
  /** Interval of repetition and where the first repeat starts; null where it does not repeat. */
  readonly repeat: { readonly interval: number; readonly at: number } | null;
  /** Plain sentences about what is not shown or not certain. */
  readonly notes: readonly string[];
  readonly table: Table;
}
