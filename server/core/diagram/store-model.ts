/** Curves over time and strokes as plain data: pressure, density, mass or energy, with target, limit and ceiling marks. */
import type { Table } from './table';

export interface Series {
  readonly id: string;
  readonly name: string;
  /** As printed: `bar`, `kg`, `kJ/kg`, … Series with one unit share an axis. */
  readonly unit: string;
  /** Rising in `t` (microseconds); values already in `unit`. */
  readonly points: readonly { readonly t: number; readonly value: number }[];
  /** Strokes jump: `step` holds a value until the next point. */
  readonly shape: 'line' | 'step';
}

export interface SeriesMark {
  readonly id: string;
  readonly kind: 'target' | 'limit' | 'ceiling' | 'moment';
  /** Unit of its axis; for a `moment`, ignored. */
  readonly unit: string;
  /** Value in `unit`, or microseconds for a `moment`. */
  readonly value: number;
  readonly label: string;
}

export interface StoreModel {
  readonly id: string;
  readonly title: string;
  readonly subtitle: string;
  readonly series: readonly Series[];
  readonly marks: readonly SeriesMark[];
  /** Times of strokes, for the second ruler; may be thinned. */
  readonly strokes: readonly { readonly t: number; readonly number: number }[];
  readonly notes: readonly string[];
  readonly tables: readonly Table[];
}
