/**
 * What the engine remembers of a run: edges, door moves and timer events in growing typed arrays, cut back when a branch is undone.
 * Rows are only appended, in order of time, and a row's number is its identity (causes point to it), so undoing a branch is setting
 * `count` back: rows above it are free to be overwritten, and no row below it can point above it.
 */
import type { DoorMove, NetEdge } from './trace';

/** Codes of timer events: its input comes on or goes off, its time starts, is given up, or runs out. */
export const TIMER_EVENT = { on: 0, off: 1, start: 2, abandon: 3, fire: 4 } as const;

function grownFloat(old: Float64Array) {
  const bigger = new Float64Array(old.length * 2);
  bigger.set(old);
  return bigger;
}
function grownInt(old: Int32Array) {
  const bigger = new Int32Array(old.length * 2);
  bigger.set(old);
  return bigger;
}

/** Columns of equal length; `count` rows are in use. */
export class EdgeRecord {
  count = 0;
  t: Float64Array;
  /** `2 * net + value`. */
  change: Int32Array;
  cause: Int32Array;
  preset: Float64Array;

  constructor(capacity = 64) {
    this.t = new Float64Array(capacity);
    this.change = new Int32Array(capacity);
    this.cause = new Int32Array(capacity);
    this.preset = new Float64Array(capacity);
  }

  /** Adds a row and gives its number. */
  add(t: number, change: number, cause: number, preset: number): number {
    const row = this.count++;
    if (row === this.t.length) this.grow();
    this.t[row] = t;
    this.change[row] = change;
    this.cause[row] = cause;
    this.preset[row] = preset;
    return row;
  }

  /** Adds the rows since `from` again `times` times, each time `period` later; what caused them comes as many rows later. */
  repeat(from: number, period: number, times: number): void {
    const end = this.count;
    for (let n = 1; n <= times; n++) {
      const rows = n * (end - from);
      for (let row = from; row < end; row++) {
        const cause = this.cause[row]!;
        this.add(this.t[row]! + n * period, this.change[row]!, cause < 0 ? cause : cause + rows, this.preset[row]!);
      }
    }
  }

  /** Row as it stands in a trace; `response` is what remains of the time since its cause. */
  edge(row: number): NetEdge {
    const cause = this.cause[row]!;
    const t = this.t[row]!;
    const preset = this.preset[row]!;
    // Not stored: an edge comes exactly preset + response after its cause.
    const response = cause < 0 ? 0 : t - this.t[cause]! - preset;
    return { t, net: this.change[row]! >> 1, value: (this.change[row]! & 1) === 1, cause, preset, response };
  }

  private grow(): void {
    this.t = grownFloat(this.t);
    this.preset = grownFloat(this.preset);
    this.change = grownInt(this.change);
    this.cause = grownInt(this.cause);
  }
}

/** Timer events: time, element and what happened. */
export class TimerRecord {
  count = 0;
  t = new Float64Array(32);
  element = new Int32Array(32);
  what = new Int32Array(32);

  add(t: number, element: number, what: number): void {
    const row = this.count++;
    if (row === this.t.length) {
      this.t = grownFloat(this.t);
      this.element = grownInt(this.element);
      this.what = grownInt(this.what);
    }
    this.t[row] = t;
    this.element[row] = element;
    this.what[row] = what;
  }

  /** Adds the rows since `from` again `times` times, each time `period` later. */
  repeat(from: number, period: number, times: number): void {
    const end = this.count;
    for (let n = 1; n <= times; n++) {
      for (let row = from; row < end; row++) this.add(this.t[row]! + n * period, this.element[row]!, this.what[row]!);
    }
  }

  /** The rows so far, kept apart from what the engine records next. */
  copy(): TimerRecord {
    const copy = new TimerRecord();
    copy.count = this.count;
    copy.t = this.t.slice(0, this.count);
    copy.element = this.element.slice(0, this.count);
    copy.what = this.what.slice(0, this.count);
    return copy;
  }
}

/** A door move with its door, in the list of all doors' moves in order of time. */
export interface DoorMoveRow extends DoorMove {
  readonly door: number;
}
