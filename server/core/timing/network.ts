/**
 * The control network at work: net changes in rounds, and the blocks by the letter of IEC 61131-3:2013, 6.6.3.5 (Tables 43, 44, 46),
 * timers with PT = 0 as Q = IN (TP: no pulse). Knows no operations, doors or power; the engine tells it what happens when.
 *
 * A round: the changes that are due come into force; all joins settle, each after those that feed it, so that a join changes once a
 * round at most; then every other element whose inputs have changed looks at the settled values, all at once. What they change with no
 * response is due in the next round.
 *
 * This is the synchronous reading of logic at one instant, in which no result depends on the order of lines; the alternative, one change
 * after the other from a queue, makes it depend on that (two inputs of an `xor` changing together would pulse or not). Elements with a
 * response or a state see settled values only, so a hazard of the joins reaches no timer. Zero-width pulses exist only where a block makes
 * one (edge detector with no response, a signal that cuts itself off), and then in rounds of their own.
 *
 * Invariants: in response style the work lists are empty between two instants (a scan evaluates everything and drops them). `output[e]` is
 * the value e has decided, which its net shows one response later: the two differ only while a change of e is under way. `previous[e]` is
 * the input that e saw at its last look. `isDirty[e]` = 1 exactly for the `dirtyCount` elements in `dirty`, none of which is a join.
 */
import { Columns } from './columns';
import { Joins } from './joins';
import type { JoinedNetwork } from './joins';
import { Changes } from './lane';
import type { Lane } from './lane';
import { loopNets } from './loop';
import { KIND } from './program';
import type { Program } from './program';
import { EdgeRecord, TIMER_EVENT, TimerRecord } from './record';

const { TON, TOF, TP, R_TRIG, F_TRIG, SR, RS } = KIND;

/** Called with every net change, with the number of its edge: the doors. */
export type OnChange = (net: number, value: number, edge: number) => void;

export class Network implements JoinedNetwork {
  /** The state that a snapshot keeps: net values, timers, changes in flight. The rest is fixed, a record, or scratch of one instant. */
  readonly columns: Columns;
  readonly edges = new EdgeRecord();
  readonly timerEvents = new TimerRecord();
  private readonly program: Program;
  private readonly recording: boolean;
  private readonly onChange: OnChange;
  private now = 0;

  // The columns of program and state that every change reads, one step away.
  private readonly scanned: boolean;
  private readonly kind: Uint8Array;
  private readonly input0: Int32Array;
  private readonly input1: Int32Array;
  private readonly base: Int32Array;
  private readonly table: Uint8Array;
  private readonly outputNet: Int32Array;
  private readonly lane: Int32Array;
  private readonly response: Float64Array;
  private readonly preset: Float64Array;
  // Readers of net n are fan…[fanStart[n] .. fanStart[n + 1]): flat lists, so that a change walks memory in one direction. Every logic
  // function is a truth table; `index` holds its row for the present nets, and a change of a net flips one bit of it.
  private readonly fanStart: Int32Array;
  private readonly fanFunction: Int32Array;
  private readonly fanBit: Int32Array;
  private readonly fanElement: Int32Array;
  /** 1 for nets that drive a door. */
  private readonly drives: Uint8Array;
  private readonly lanes: readonly Lane[];
  /** Where all responses are alike there is one lane, which needs no agenda. */
  private readonly onlyLane: Lane | null;
  private readonly values: Uint8Array;
  private readonly index: Int32Array;
  private readonly previous: Uint8Array;
  private readonly output: Uint8Array;

  private readonly join: Uint8Array;

  // Work lists of one instant: changes of this round, of the next, and of the one after it; joins and other elements to look.
  private current = new Changes();
  private next = new Changes();
  private later = new Changes();
  /** Counts rounds; `changedAt[net] === step`: the net has changed in this round. */
  private step = 0;
  private readonly changedAt: Float64Array;
  private readonly dirty: Int32Array;
  private readonly isDirty: Uint8Array;
  private dirtyCount = 0;
  private readonly joins: Joins;
  /** The edge that touched an element last. */
  readonly touchCause: Int32Array;

  constructor(program: Program, recording: boolean, onChange: OnChange) {
    this.program = program;
    this.recording = recording;
    this.onChange = onChange;
    this.columns = new Columns(program);
    this.scanned = program.style === 'scan';
    ({
      kind: this.kind,
      input0: this.input0,
      input1: this.input1,
      base: this.base,
      table: this.table,
      outputNet: this.outputNet,
      lane: this.lane,
      response: this.response,
      preset: this.preset,
      fanStart: this.fanStart,
      fanFunction: this.fanFunction,
      fanBit: this.fanBit,
      fanElement: this.fanElement,
    } = program);
    this.join = program.join;
    this.joins = new Joins(program, this);
    this.drives = Uint8Array.from({ length: program.nets }, (_, net) =>
      program.driveStart[net]! < program.driveStart[net + 1]! ? 1 : 0,
    );
    ({
      lanes: this.lanes,
      values: this.values,
      index: this.index,
      previous: this.previous,
      output: this.output,
    } = this.columns);
    this.onlyLane = this.lanes.length === 1 ? this.lanes[0]! : null;
    this.changedAt = new Float64Array(program.nets);
    this.dirty = new Int32Array(program.elements);
    this.isDirty = new Uint8Array(program.elements);
    this.touchCause = new Int32Array(program.elements).fill(-1);
  }

  /** Sets the time of what happens next. */
  at(t: number): void {
    this.now = t;
  }

  // ---------------------------------------------------------------- changes

  /** Enters a change of an input net into the next round. */
  offer(net: number, value: number): void {
    this.current.add(2 * net + value, -1, 0);
  }

  /** When the next change comes out of a lane. */
  nextDue(): number {
    return this.onlyLane === null ? this.columns.laneAgenda.nextTime : this.onlyLane.headTime;
  }

  /** Takes out of the lanes what is due now. */
  takeDue(): void {
    if (this.onlyLane !== null) return this.takeLane(this.onlyLane);
    const { laneAgenda, lanes } = this.columns;
    while (laneAgenda.nextTime === this.now) {
      const id = laneAgenda.nextId;
      const lane = lanes[id]!;
      this.takeLane(lane);
      if (lane.size > 0) laneAgenda.set(id, lane.headTime);
      else laneAgenda.remove(id);
    }
  }

  /** The changes of one lane that are due, in the order in which they set out. */
  private takeLane(lane: Lane): void {
    while (lane.headTime === this.now) lane.popInto(this.current);
  }

  /** Rounds until nothing changes any more; gives null, or the nets of a loop that does not settle. */
  settle(): number[] | null {
    // A network without feedback is quiet after as many rounds as its longest chain; beyond the limit it goes round.
    const limit = 64 + 4 * this.program.elements + this.current.count;
    for (let rounds = 0; this.current.count > 0 || this.dirtyCount > 0 || this.joins.touched; rounds++) {
      if (rounds > limit) return this.busyNets(rounds);
      const loop = this.round();
      if (loop !== null) return loop;
    }
    return null;
  }

  /** One round; null, or the nets of a loop of joins that does not settle. */
  private round(): number[] | null {
    if (this.current.count > 0) this.applyCurrent();
    const loop = this.joins.touched ? this.joins.settle() : null;
    if (loop !== null) {
      this.dropWork();
      return loop;
    }
    if (this.dirtyCount > 0) this.evaluateDirty();
    this.nextRound();
    return null;
  }

  private nextRound(): void {
    // The three lists take turns, so that no round allocates.
    const used = this.current;
    used.count = 0;
    // What is entered for the round after the next always comes with something for the next.
    if (this.next.count === 0) return;
    this.current = this.next;
    this.next = this.later;
    this.later = used;
  }

  /** What still changes in as many further rounds as were taken is what does not settle. */
  private busyNets(rounds: number): number[] {
    // As many rounds again: a net that takes part but changes in none of them is missing from the message, not from the verdict.
    const busy = new Set<number>();
    const { edges } = this;
    for (let i = 0; i < rounds; i++) {
      const before = edges.count;
      if (this.round() !== null) break;
      if (this.recording) for (let row = before; row < edges.count; row++) busy.add(edges.change[row]! >> 1);
      else for (let j = 0; j < this.current.count; j++) busy.add(this.current.change[j]! >> 1);
    }
    this.dropWork();
    return loopNets(this.program, busy);
  }

  // ---------------------------------------------------------------- looking

  /** Brings the changes of this round into force, in the order of their nets; each net changes once at most. */
  private applyCurrent(): void {
    const { current, changedAt, values } = this;
    // By far the most frequent: nothing to sort, no second change to look for.
    if (current.count === 1) {
      const change = current.change[0]!;
      if (values[change >> 1] !== (change & 1))
        this.change(change >> 1, change & 1, current.cause[0]!, current.preset[0]!);
      return;
    }
    current.sort();
    const step = ++this.step;
    for (let i = 0; i < current.count; i++) {
      const change = current.change[i]!;
      const net = change >> 1;
      if (changedAt[net] === step) {
        // The second change of a net at one instant belongs to the second step.
        this.next.add(change, current.cause[i]!, current.preset[i]!);
        continue;
      }
      // No change: an input set to what it is, or a response that brings what an operation has done already.
      if (values[net] === (change & 1)) continue;
      changedAt[net] = step;
      this.change(net, change & 1, current.cause[i]!, current.preset[i]!);
    }
  }

  /** Evaluates every touched element on the settled nets, in declaration order. */
  private evaluateDirty(): void {
    const { dirty, isDirty } = this;
    // Taken over before the looks: what they touch belongs to the next round.
    const count = this.dirtyCount;
    this.dirtyCount = 0;
    if (count === 1) {
      isDirty[dirty[0]!] = 0;
      return this.evaluate(dirty[0]!);
    }
    // Insertion sort: the list is short and nearly in order.
    for (let i = 1; i < count; i++) {
      const element = dirty[i]!;
      let j = i - 1;
      for (; j >= 0 && dirty[j]! > element; j--) dirty[j + 1] = dirty[j]!;
      dirty[j + 1] = element;
    }
    for (let i = 0; i < count; i++) {
      isDirty[dirty[i]!] = 0;
      this.evaluate(dirty[i]!);
    }
  }

  /** Changes a net now: records the edge, and touches what reads it. */
  change(net: number, value: number, cause: number, preset: number): void {
    const { index, fanStart, fanFunction, fanBit } = this;
    this.values[net] = value;
    for (let i = fanStart[net]!, end = fanStart[net + 1]!; i < end; i++) index[fanFunction[i]!]! ^= fanBit[i]!;
    this.announce(net, value, cause, preset);
  }

  /** Makes a change known that is in force: records the edge, touches what reads the net, tells the doors. */
  announce(net: number, value: number, cause: number, preset: number): void {
    // Edges are counted even where none is kept: the budget is in edges, and must not depend on recording.
    const edge = this.recording ? this.edges.add(this.now, 2 * net + value, cause, preset) : this.edges.count++;
    const { fanStart, fanElement } = this;
    for (let i = fanStart[net]!, end = fanStart[net + 1]!; i < end; i++) this.touch(fanElement[i]!, edge);
    if (this.drives[net] === 1) this.onChange(net, value, edge);
  }

  /** Enters an element for its look; the last edge that touches it counts as the cause of what it does. */
  private touch(element: number, cause: number): void {
    this.touchCause[element] = cause;
    if (this.join[element] === 1) return this.joins.touch(element);
    if (this.isDirty[element] === 1) return;
    this.isDirty[element] = 1;
    this.dirty[this.dirtyCount++] = element;
  }

  /** First evaluation after power comes: every element looks at its inputs. */
  wake(): void {
    for (let e = 0; e < this.program.elements; e++) this.touch(e, -1);
  }

  /** Power goes: all nets are off, nothing is under way, blocks are as before their first call. */
  powerOff(): void {
    // What the falling nets touch is dropped below: blocks without power do not look.
    this.columns.forget();
    this.columns.values.forEach((value, net) => value === 1 && this.change(net, 0, -1, 0));
    this.dropWork();
  }

  /** Drops unfinished work of an instant. */
  dropWork(): void {
    this.current.count = this.next.count = this.later.count = this.dirtyCount = 0;
    this.isDirty.fill(0);
    this.joins.clear();
  }

  forgetCauses(): void {
    this.touchCause.fill(-1);
  }

  /** All that is under way comes later by `by`, and what caused it stands `rows` rows further down in the record. */
  moveOn(by: number, rows: number): void {
    this.columns.moveOn(by, rows);
    this.touchCause.forEach((cause, e) => (this.touchCause[e] = cause < 0 ? cause : cause + rows));
  }

  // ---------------------------------------------------------------- blocks

  /** Lets one timer that is due now run out: of several the first in the order in which they feed each other. */
  runOutNext(): void {
    const { timers } = this.columns;
    const element = timers.nextId;
    timers.remove(element);
    this.runOut(element);
    // What ran out is the first round of its own step: it was entered as "next" by `emit`.
    const used = this.current;
    this.current = this.next;
    this.next = used;
  }

  /** One scan: all elements in written order, timers seen at the instant of the scan. Tells whether any net changed. */
  scan(): boolean {
    const { timers } = this.columns;
    const before = this.edges.count;
    for (let e = 0; e < this.program.elements; e++) {
      this.evaluate(e);
      if (!timers.has(e) || timers.dueTime(e) > this.now) continue;
      timers.remove(e);
      this.runOut(e);
    }
    this.dropWork();
    return this.edges.count > before;
  }

  /** Value of a logic function for the present nets; -1 is an input that is not connected, which is off. */
  valueOf(fn: number): number {
    if (fn < 0) return 0;
    const base = this.base[fn]!;
    if (base >= 0) return this.table[base + this.index[fn]!]!;
    return this.program.wide[fn]!(this.values) ? 1 : 0;
  }

  /** Sends a block's new value on its way: at once in a scan, else through its response. */
  private emit(element: number, value: number, cause: number, preset: number): void {
    this.output[element] = value;
    const net = this.outputNet[element]!;
    if (this.scanned) return this.change(net, value, cause, preset);
    // Response 0 means the next round of this instant; any other goes through the lane of that response.
    const lane = this.lane[element]!;
    if (lane < 0) return this.next.add(2 * net + value, cause, preset);
    const due = this.now + this.response[element]!;
    if (this.onlyLane !== null) return this.onlyLane.push(due, 2 * net + value, cause, preset);
    const queue = this.lanes[lane]!;
    // The head of a lane with changes in it stays its head: later ones take as long and come behind.
    if (queue.size === 0) this.columns.laneAgenda.set(lane, due);
    queue.push(due, 2 * net + value, cause, preset);
  }

  /** One look of a block at its inputs, all of which have settled. What it decides goes out by `emit`. */
  private evaluate(e: number): void {
    const { output } = this;
    const x = this.valueOf(this.input0[e]!);
    const kind = this.kind[e]!;
    if (kind === 0) {
      if (x !== output[e]) this.emit(e, x, this.touchCause[e]!, 0);
      return;
    }
    if (kind === TON || kind === TOF) return this.evaluateDelay(e, kind === TON ? 1 : 0, x);
    if (kind === TP) return this.evaluatePulse(e, x);
    if (kind === R_TRIG || kind === F_TRIG) return this.evaluateTrigger(e, kind === F_TRIG ? 1 - x : x);
    const y = this.valueOf(this.input1[e]!);
    let q: number;
    // Table 43: SR has S1 dominant, Q1 = S1 or (not R and Q1); RS has R1 dominant, Q1 = not R1 and (S or Q1).
    if (kind === SR) q = x | ((1 - y) & output[e]!);
    else if (kind === RS) q = (1 - y) & (x | output[e]!);
    else q = this.counted(e, x, y);
    if (q !== output[e]) this.emit(e, q, this.touchCause[e]!, 0);
  }

  /** CTU: counts rising edges of CU up to PV (more cannot be seen from outside); R holds it at zero. */
  private counted(e: number, cu: number, r: number): number {
    const { previous, counts } = this.columns;
    const rising = cu === 1 && previous[e] === 0;
    previous[e] = cu;
    const limit = this.program.count[e]!;
    // Table 45, CTU: R is asked first, so a rising edge while reset is held is not counted.
    if (r === 1) counts[e] = 0;
    else if (rising && counts[e]! < limit) counts[e]!++;
    return counts[e]! >= limit ? 1 : 0;
  }

  /** TON times while its input is on and TOF while it is off (`timed`): the same block seen from the other side. */
  private evaluateDelay(e: number, timed: number, x: number): void {
    const { previous, output } = this;
    const { timers } = this.columns;
    if (x === previous[e]) return;
    previous[e] = x;
    const cause = this.touchCause[e]!;
    this.note(e, x === 1 ? TIMER_EVENT.on : TIMER_EVENT.off);
    if (x === timed) {
      if (this.preset[e] !== 0) return this.startTimer(e, cause);
      this.note(e, TIMER_EVENT.fire);
      return this.emit(e, timed, cause, 0);
    }
    if (timers.has(e)) {
      timers.remove(e);
      this.note(e, TIMER_EVENT.abandon);
    }
    // The timed state had been reached (TON on, TOF off): leaving it is answered at once, without a preset.
    if (output[e] === timed) this.emit(e, 1 - timed, cause, 0);
  }

  /** TP: a rise while idle starts a pulse of exactly PT; rises during the pulse change nothing. */
  private evaluatePulse(e: number, x: number): void {
    const { previous, timers } = this.columns;
    if (x === previous[e]) return;
    previous[e] = x;
    this.note(e, x === 1 ? TIMER_EVENT.on : TIMER_EVENT.off);
    if (x === 0 || this.preset[e] === 0) return;
    // A rise within the pulse does not restart it (IEC 61131-3, figure of TP); it is only noted, as a retrigger that had no effect.
    if (timers.has(e)) return this.note(e, TIMER_EVENT.abandon);
    this.startTimer(e, this.touchCause[e]!);
    this.emit(e, 1, this.touchCause[e]!, 0);
  }

  /** Starts (or starts again) the timer of an element; the cause of what follows is the edge that started it. */
  private startTimer(e: number, cause: number): void {
    this.columns.timers.set(e, this.now + this.preset[e]!);
    this.columns.startCause[e] = cause;
    this.note(e, TIMER_EVENT.start);
  }

  /** A timer, or the pulse of an edge detector, ends at this instant. */
  private runOut(e: number): void {
    const kind = this.kind[e]!;
    const cause = this.columns.startCause[e]!;
    if (kind === R_TRIG || kind === F_TRIG) return this.emit(e, 0, cause, 0);
    this.note(e, TIMER_EVENT.fire);
    // TON goes on, TOF and TP go off.
    this.emit(e, kind === TON ? 1 : 0, cause, this.preset[e]!);
  }

  /** Edge detectors: `clk` is inverted for F_TRIG. The pulse lasts one scan, one response, or (zero response) one round. */
  private evaluateTrigger(e: number, clk: number): void {
    const { previous, output } = this;
    const { timers, startCause } = this.columns;
    const rising = clk === 1 && previous[e] === 0;
    previous[e] = clk;
    const cause = this.touchCause[e]!;
    if (this.scanned) {
      // In a scan the block is called once a scan, so its pulse lasts exactly until the next call.
      if (rising !== (output[e] === 1)) this.emit(e, rising ? 1 : 0, cause, 0);
      return;
    }
    if (!rising) return;
    const response = this.response[e]!;
    if (response === 0) {
      // On in the next round, off in the one after it: one round wide. `output` stays 0, since the pulse is over when the instant is.
      const net = 2 * this.outputNet[e]!;
      this.next.add(net + 1, cause, 0);
      this.later.add(net, cause, 0);
      return;
    }
    // A further rise while the pulse is on makes it longer, not double: the end is moved, no second rise is sent.
    timers.set(e, this.now + response);
    startCause[e] = cause;
    if (output[e] === 0) this.emit(e, 1, cause, 0);
  }

  private note(element: number, what: number): void {
    if (this.recording) this.timerEvents.add(this.now, element, what);
  }
}
