/**
 * The changing state of a control network in dense columns: kept, brought back and compared as a whole.
 *
 * Everything that decides the future is here or in `Doors`, and nothing else is; that is what makes snapshots exact and "equal words, equal
 * future" true (`addKey`). What only explains the past (causes, records) is left out of comparisons. Invariants between two instants:
 *  - `index[f]` is the row of function f's truth table for the present `values` (for wide functions it is not used);
 *  - `timers` holds exactly the elements whose time runs, each with a due time not before the present;
 *  - each lane is ordered by due time, because all its changes take the same response; `laneAgenda` holds the head of each lane that is
 *    not empty, and is left unused where there is one lane only;
 *  - no change is due at or before the present: an instant ends only when its rounds are done.
 */
import { Agenda } from './heap';
import type { AgendaState } from './heap';
import { Lane } from './lane';
import type { Part, Program } from './program';

export interface ColumnsState {
  readonly bytes: readonly Uint8Array[];
  readonly counts: Int32Array;
  readonly startCause: Int32Array;
  readonly lanes: readonly (readonly number[])[];
  readonly laneAgenda: AgendaState;
  readonly timers: AgendaState;
}

/** State of nets, blocks and of what is under way. Bytes are 0 or 1. */
export class Columns {
  /** Value of each net, right-continuous. */
  readonly values: Uint8Array;
  /** What switches and sensors would give with power. */
  readonly inputs: Uint8Array;
  /** Per element: the input it saw last (edge side), its value before its response, its count. */
  readonly previous: Uint8Array;
  readonly output: Uint8Array;
  readonly counts: Int32Array;
  /** Edge that started the running timer of an element. */
  readonly startCause: Int32Array;
  /** Index into the truth table of each function, kept up to date with the nets. */
  readonly index: Int32Array;
  readonly lanes: readonly Lane[];
  /** Lanes by the due time of their first change; timers by the time they run out. */
  readonly laneAgenda: Agenda;
  readonly timers: Agenda;
  private readonly program: Program;

  constructor(program: Program) {
    this.program = program;
    this.values = new Uint8Array(program.nets);
    this.inputs = new Uint8Array(program.nets);
    this.previous = new Uint8Array(program.elements);
    this.output = new Uint8Array(program.elements);
    this.counts = new Int32Array(program.elements);
    this.startCause = new Int32Array(program.elements).fill(-1);
    this.index = new Int32Array(program.functions);
    this.lanes = Array.from({ length: program.lanes }, () => new Lane());
    this.laneAgenda = new Agenda(program.lanes);
    this.timers = new Agenda(program.elements, program.dueRank);
  }

  /** Blocks as before their first call, nothing under way. */
  forget(): void {
    for (const column of [this.previous, this.output, this.counts]) column.fill(0);
    for (const lane of this.lanes) lane.clear();
    this.laneAgenda.clear();
    this.timers.clear();
  }

  /** Computes the table indices again from the net values. */
  reindex(): void {
    const { fanStart, fanFunction, fanBit, nets } = this.program;
    this.index.fill(0);
    for (let net = 0; net < nets; net++) {
      if (this.values[net] === 0) continue;
      for (let i = fanStart[net]!; i < fanStart[net + 1]!; i++) this.index[fanFunction[i]!]! ^= fanBit[i]!;
    }
  }

  /** Appends what names the state of a part of the network, times relative to `now`. */
  addKey(parts: number[], { nets, elements, owner, number }: Part, now: number, powered: boolean): void {
    packBits(this.values, nets, parts);
    packBits(this.previous, elements, parts);
    packBits(this.output, elements, parts);
    // With power on, inputs are the values of their nets already.
    if (!powered) packBits(this.inputs, nets, parts);
    for (let i = 0; i < elements.length; i++) {
      const e = elements[i]!;
      // Sparse and self-describing: negative words are counters, others timers, so two different states never give one list of words.
      if (this.counts[e] !== 0) parts.push(-1 - e, this.counts[e]!);
      if (this.timers.has(e)) parts.push(e, this.timers.dueTime(e) - now);
    }
    for (const lane of this.lanes) {
      // Separates the lanes: no other word is a fraction, so that changes cannot be read as those of another lane.
      parts.push(-0.5);
      lane.each((time, change) => {
        if (owner[change >> 1] === number) parts.push(time - now, change);
      });
    }
  }

  /** Whether anything of a part is under way: a timer that runs, a change in a lane. */
  pending({ elements, owner, number }: Part): boolean {
    for (let i = 0; i < elements.length; i++) if (this.timers.has(elements[i]!)) return true;
    return this.lanes.some((lane) => lane.some((change) => owner[change >> 1] === number));
  }

  /** Moves all times by `by`; causes before are forgotten. */
  rebase(by: number): void {
    this.laneAgenda.shift(by);
    this.timers.shift(by);
    // The edges that causes point to belong to the record that ends here.
    for (const lane of this.lanes) lane.rebase(by);
    this.startCause.fill(-1);
  }

  /** Moves all times by `by`, and causes by `rows` of the record. */
  moveOn(by: number, rows: number): void {
    this.laneAgenda.shift(by);
    this.timers.shift(by);
    for (const lane of this.lanes) lane.rebase(by, (cause) => (cause < 0 ? cause : cause + rows));
    this.startCause.forEach((cause, e) => (this.startCause[e] = cause < 0 ? cause : cause + rows));
  }

  save(): ColumnsState {
    return {
      bytes: [this.values, this.inputs, this.previous, this.output].map((b) => b.slice()),
      counts: this.counts.slice(),
      startCause: this.startCause.slice(),
      lanes: this.lanes.map((lane) => lane.save()),
      laneAgenda: this.laneAgenda.save(),
      timers: this.timers.save(),
    };
  }

  load(state: ColumnsState): void {
    [this.values, this.inputs, this.previous, this.output].forEach((column, i) => column.set(state.bytes[i]!));
    this.counts.set(state.counts);
    this.startCause.set(state.startCause);
    this.lanes.forEach((lane, i) => lane.load(state.lanes[i]!));
    this.laneAgenda.load(state.laneAgenda);
    this.timers.load(state.timers);
    this.reindex();
  }
}

/** Appends the bits of `bytes` at the places of `list`, thirty to a number: words stay small non-negative integers, which are never boxed. */
function packBits(bytes: Uint8Array, list: Int32Array, into: number[]): void {
  let word = 0;
  let bit = 0;
  for (let i = 0; i < list.length; i++) {
    word |= bytes[list[i]!]! << bit;
    if (++bit < 30) continue;
    into.push(word);
    word = bit = 0;
  }
  into.push(word);
}
