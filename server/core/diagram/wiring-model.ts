/**
 * The control network as plain data, laid out left to right: inputs, elements, what they drive. Positions in px of the unscaled
 * drawing; live states come from the steps of each net.
 */
import type { Source } from '../model/problem';
import type { Table } from './table';

export interface WiringNode {
  /** `net:NAME`, or `door:NAME`, `line:NAME` for what is driven. */
  readonly id: string;
  readonly kind: 'sensor' | 'switch' | 'logic' | 'timer' | 'edge' | 'latch' | 'counter' | 'door' | 'line';
  readonly name: string;
  /** `TOF 1.5 s`, the expression of a logic element, `door`, … */
  readonly detail: string;
  readonly source: Source;
  /** Net whose value it shows; -1 where it has none. */
  readonly net: number;
  /** Centre, and size. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface WiringEdge {
  /** `wire:FROM>TO/INPUT` */
  readonly id: string;
  readonly from: string;
  readonly to: string;
  /** Net it carries. */
  readonly net: number;
  /** The element reads the opposite. */
  readonly inverted: boolean;
  /** Runs against the reading direction: closes a loop. */
  readonly feedback: boolean;
  /** Input name of the standard's block (`IN`, `S1`, …), empty for logic. */
  readonly pin: string;
  readonly points: readonly { readonly x: number; readonly y: number }[];
}

/** Value of one net over time: `initial`, then the changes, rising in time. */
export interface NetSteps {
  readonly initial: boolean;
  readonly changes: readonly { readonly t: number; readonly value: boolean }[];
}

export interface WiringModel {
  readonly id: string;
  readonly title: string;
  readonly width: number;
  readonly height: number;
  readonly nodes: readonly WiringNode[];
  readonly edges: readonly WiringEdge[];
  /** One per net of the rig. */
  readonly nets: readonly NetSteps[];
  readonly start: number;
  readonly end: number;
  readonly tables: readonly Table[];
}
