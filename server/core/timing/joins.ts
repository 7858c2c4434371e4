/**
 * Joins: logic without response. In each round they settle before anything else looks, so that a join changes once a round at most, and
 * a name for a part of an expression changes nothing.
 *
 * A join without this rule would be a gate of no delay that sees its inputs one after the other: `a and not b` with both changing at one
 * moment would give a pulse of no width, or not, by the order of two lines. Evaluating along the feeding order removes that: when a join's
 * turn comes, everything that can change its inputs in this round has been settled. Each join then changes at most once a round, by
 * induction along the order; a loop has no such order and is settled as one (`settleLoop`).
 */
import type { Columns } from './columns';
import { Agenda } from './heap';
import { loopNets } from './loop';
import type { Program } from './program';

/** What the joins need of the network they belong to. */
export interface JoinedNetwork {
  readonly columns: Columns;
  /** The edge that touched an element last. */
  readonly touchCause: Int32Array;
  valueOf(fn: number): number;
  /** Changes a net and makes it known. */
  change(net: number, value: number, cause: number, preset: number): void;
  /** Makes a change known that is in force. */
  announce(net: number, value: number, cause: number, preset: number): void;
}

export class Joins {
  private readonly program: Program;
  private readonly network: JoinedNetwork;
  /** Joins that are to look, in the order in which they feed each other: a join of rank r touches only ranks above r, outside its loop. */
  private readonly waiting: Agenda;

  constructor(program: Program, network: JoinedNetwork) {
    this.program = program;
    this.network = network;
    this.waiting = new Agenda(program.elements);
  }

  get touched(): boolean {
    return this.waiting.nextTime < Infinity;
  }

  touch(join: number): void {
    this.waiting.set(join, this.program.joinOrder.rank[join]!);
  }

  clear(): void {
    this.waiting.clear();
  }

  /** Lets all touched joins settle; gives null, or the nets of a loop that does not. */
  settle(): number[] | null {
    const { waiting, network, program } = this;
    const { output } = network.columns;
    const { looped, loopOf } = program.joinOrder;
    while (waiting.nextTime < Infinity) {
      const e = waiting.nextId;
      if (looped[e] === 1) {
        // The head of the agenda is a join of a loop, so all that feeds the loop from outside has settled.
        const loop = this.settleLoop(loopOf[e]!);
        if (loop !== null) return loop;
        continue;
      }
      waiting.remove(e);
      const value = network.valueOf(program.input0[e]!);
      if (value === output[e]) continue;
      output[e] = value;
      network.change(program.outputNet[e]!, value, network.touchCause[e]!, 0);
    }
    return null;
  }

  /**
   * Joins that lead back to themselves: all of them that are touched change together, step by step from the values before the round,
   * until none does; what lies outside the loop sees only what they end at. A loop that holds a value is a latch, one that does not
   * settle is an error.
   */
  private settleLoop(loop: number): number[] | null {
    const { program, network } = this;
    const { output } = network.columns;
    const { outputNet, input0 } = program;
    const before = new Map<number, number>();
    // Turning together from the same values is the one reading that does not depend on the order of lines. n joins that settle do so
    // in few steps in any circuit we met; one that has not after four times its elements goes through its states without end.
    for (let left = 64 + 4 * program.elements; ; left--) {
      const turns = this.takeLoop(loop).filter((e) => network.valueOf(input0[e]!) !== output[e]);
      if (turns.length === 0) break;
      if (left === 0) return loopNets(program, new Set([...before.keys()].map((e) => outputNet[e]!)));
      for (const e of turns) {
        if (!before.has(e)) before.set(e, output[e]!);
        output[e] = 1 - output[e]!;
        this.turn(outputNet[e]!, loop, network.touchCause[e]!);
      }
    }
    // Outside, one change each from before to after: values on the way had no width. In the order of the text, not of the turning.
    for (const [e, value] of [...before].sort((a, b) => a[0] - b[0]))
      if (output[e] !== value) network.announce(outputNet[e]!, output[e]!, network.touchCause[e]!, 0);
    return null;
  }

  /** Takes the touched joins of a loop off the list: they stand together at its head. */
  private takeLoop(loop: number): number[] {
    const { waiting, program } = this;
    const taken: number[] = [];
    while (waiting.nextTime < Infinity && program.joinOrder.loopOf[waiting.nextId] === loop) {
      taken.push(waiting.nextId);
      waiting.remove(waiting.nextId);
    }
    return taken;
  }

  /** Turns a net of a loop round for the other joins of the loop only. */
  private turn(net: number, loop: number, cause: number): void {
    const { network } = this;
    const { fanStart, fanFunction, fanBit, fanElement, join, joinOrder } = this.program;
    const { values, index } = network.columns;
    values[net] = 1 - values[net]!;
    for (let i = fanStart[net]!, end = fanStart[net + 1]!; i < end; i++) {
      index[fanFunction[i]!]! ^= fanBit[i]!;
      const e = fanElement[i]!;
      if (join[e] === 0 || joinOrder.loopOf[e] !== loop) continue;
      network.touchCause[e] = cause;
      this.touch(e);
    }
  }
}
