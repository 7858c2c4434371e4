/**
 * The event engine: a stepper over a rig's control network and doors, in whole microseconds.
 *
 * Order at one instant: operations from outside and net changes in delta steps until nothing changes any more (the k-th change of
 * one net at one instant belongs to the k-th step; within a step, nets and elements in order of declaration); then every timer
 * that runs out at this instant, together; their zero-response consequences again in delta steps; then the doors, which see the
 * settled values only. In scan style the inputs are read, the elements evaluated in written order, and timers seen at the instant
 * of the scan. Blocks behave as IEC 61131-3:2013, 6.6.3.5 (Tables 43, 44, 46), timers with PT = 0 as Q = IN (TP: no pulse).
 */
import type { Rig } from '../model/rig';
import { Agenda } from './heap';
import type { AgendaState } from './heap';
import { Changes, Lane } from './lane';
import { doorAtRest, openingAt, turnDoor, unitsAt } from './motion';
import type { DoorState } from './motion';
import { KIND, compileProgram, evaluateLogic } from './program';
import type { Program, TimeChoice } from './program';
import { EdgeRecord, TIMER_EVENT, TimerRecord } from './record';
import type { DoorMoveRow } from './record';
import type { DoorMove, DoorTrack, Trace } from './trace';

export interface EngineOptions {
  /** Edges after which the engine stops with `reason: 'budget'`; 200 000 by default. */
  readonly budget?: number;
  /** Choice of times within tolerance, nominal by default. */
  readonly times?: TimeChoice;
  /** Value of an input net at the start; by default `initialInputs(rig)`. */
  readonly inputs?: (net: number) => boolean;
  /** `none` keeps no edges, only their number: for long runs. */
  readonly record?: 'all' | 'none';
  /** A program compiled before (with the same times), to spare the work. */
  readonly program?: Program;
}

/** What is under way in an engine, to return to later. */
export interface Snapshot {
  readonly now: number;
  readonly bytes: readonly Uint8Array[];
  readonly startCause: Int32Array;
  readonly counts: Int32Array;
  readonly lanes: readonly (readonly number[])[];
  readonly laneAgenda: AgendaState;
  readonly timers: AgendaState;
  readonly doors: readonly DoorState[];
  readonly rows: readonly [number, number, number];
  readonly operations: readonly Operation[];
  readonly flags: readonly [boolean, boolean];
  readonly scans: readonly [number, number];
  readonly stopped: Trace['stopped'];
}

interface Operation {
  readonly t: number;
  /** Net, or -1 for power. */
  readonly net: number;
  readonly value: boolean;
}

const { TON, TOF, TP, R_TRIG, F_TRIG, SR, RS } = KIND as Record<string, number>;

/** Inputs at the start: switches as declared, sensors as the starting contents give them, or as over an empty chamber. */
export function initialInputs(rig: Rig): (net: number) => boolean {
  const on = new Set<number>();
  for (const s of rig.switches) if (s.initial) on.add(s.net);
  for (const s of rig.sensors) if (sensorInitially(s)) on.add(s.net);
  return (net) => on.has(net);
}

function sensorInitially(sensor: Rig['sensors'][number]): boolean {
  const given = (sensor as { readonly initiallyOn?: boolean | null }).initiallyOn;
  return given ?? sensor.on?.side === 'below';
}

/** Appends the bits of `bytes` (each 0 or 1), thirty to a number. */
function packBits(bytes: Uint8Array, into: number[]): void {
  let word = 0;
  for (let i = 0; i < bytes.length; i++) {
    word |= bytes[i]! << (i % 30);
    if (i % 30 < 29) continue;
    into.push(word);
    word = 0;
  }
  into.push(word);
}

/** An engine at time zero, powered, nothing evaluated yet: the first `step` is the first evaluation. */
export function createEngine(rig: Rig, options: EngineOptions = {}): Engine {
  const program = options.program ?? compileProgram(rig, options.times);
  const inputNets = rig.network.nets.map((net) => net.kind !== 'element');
  return new Engine(program, inputNets, options.inputs ?? initialInputs(rig), options);
}

export class Engine {
  now = 0;
  stopped: Trace['stopped'] = null;
  readonly edges = new EdgeRecord();
  readonly timerEvents = new TimerRecord();
  readonly moves: DoorMoveRow[] = [];
  /** Net values, right-continuous. */
  readonly values: Uint8Array;

  private readonly program: Program;
  private readonly isInput: readonly boolean[];
  private readonly recording: boolean;
  private readonly budget: number;
  private readonly inputs: Uint8Array;
  private readonly index: Int32Array;
  private readonly previous: Uint8Array;
  private readonly output: Uint8Array;
  private readonly counts: Int32Array;
  private readonly startCause: Int32Array;
  private readonly lanes: Lane[];
  private readonly laneAgenda: Agenda;
  private readonly timers: Agenda;
  private readonly doors: DoorState[];
  private readonly drivesOn: Int32Array;
  private operations: Operation[] = [];
  private power = true;
  private waking = true;
  private scanOrigin = 0;
  private nextScan = Infinity;
  private initial: Uint8Array;
  private initialDoors: DoorState[];
  private start = 0;

  // Work lists of one instant.
  private current = new Changes();
  private next = new Changes();
  private later = new Changes();
  private stamp = 0;
  private readonly netStamp: Int32Array;
  private readonly elementStamp: Int32Array;
  private readonly dirty: Int32Array;
  private dirtyCount = 0;
  private readonly touchCause: Int32Array;
  private dirtyDoors: number[] = [];
  private readonly doorCause: Int32Array;

  constructor(
    program: Program,
    isInput: readonly boolean[],
    initially: (net: number) => boolean,
    options: EngineOptions,
  ) {
    this.program = program;
    this.isInput = isInput;
    this.recording = options.record !== 'none';
    this.budget = options.budget ?? 200_000;
    this.values = new Uint8Array(program.nets);
    this.inputs = new Uint8Array(program.nets);
    this.index = new Int32Array(program.functions);
    this.previous = new Uint8Array(program.elements);
    this.output = new Uint8Array(program.elements);
    this.counts = new Int32Array(program.elements);
    this.startCause = new Int32Array(program.elements).fill(-1);
    this.lanes = Array.from({ length: program.lanes }, () => new Lane());
    this.laneAgenda = new Agenda(program.lanes);
    this.timers = new Agenda(program.elements);
    this.doors = program.doors.map(doorAtRest);
    this.drivesOn = new Int32Array(program.doors.length);
    this.netStamp = new Int32Array(program.nets);
    this.elementStamp = new Int32Array(program.elements);
    this.dirty = new Int32Array(program.elements);
    this.touchCause = new Int32Array(program.elements).fill(-1);
    this.doorCause = new Int32Array(program.doors.length).fill(-1);
    isInput.forEach((input, net) => {
      if (input && initially(net)) this.inputs[net] = 1;
    });
    this.inputs.forEach((value, net) => {
      if (value === 1) this.force(net, 1);
    });
    this.initial = this.values.slice();
    this.initialDoors = this.doors.map((d) => ({ ...d }));
  }

  /** Time of the next instant at which anything happens; `Infinity` when all is quiet. Moving doors do not count. */
  nextTime(): number {
    if (this.stopped) return Infinity;
    if (this.waking) return this.now;
    const outside = this.operations.length > 0 ? this.operations[0]!.t : Infinity;
    const inside =
      this.program.style === 'scan' ? this.nextScan : Math.min(this.laneAgenda.nextTime, this.timers.nextTime);
    return Math.min(outside, inside);
  }

  /** When the last moving door arrives; not later than `now` when all stand still. */
  doorsArrive(): number {
    return this.doors.reduce((latest, door) => Math.max(latest, door.arrives), -Infinity);
  }

  /** Enters a change of a switch or sensor at time `at` (now by default, never before). */
  setInput(net: number, value: boolean, at = this.now): void {
    this.operate({ t: Math.max(at, this.now), net, value });
  }

  /** Takes power away, or brings it back, at time `at`. */
  setPower(on: boolean, at = this.now): void {
    this.operate({ t: Math.max(at, this.now), net: -1, value: on });
  }

  /** Runs all instants up to and including `t`; afterwards `now` is `t`, unless it stopped before. */
  advanceTo(t: number): void {
    while (this.nextTime() <= t) this.step();
    if (!this.stopped) this.now = Math.max(this.now, t);
  }

  /** Runs the next instant. Does nothing when there is none. */
  step(): void {
    const t = this.nextTime();
    if (t === Infinity) return;
    this.now = t;
    if (this.waking) this.wake();
    if (this.program.style === 'scan') this.scanInstant(t);
    else this.responseInstant(t);
    this.settleDoors(t);
    if (this.edges.count >= this.budget && !this.stopped) this.stopped = { reason: 'budget' };
  }

  /** Opening of a door at `now`: 0 shut … 1 fully open. */
  doorPosition(door: number, t = this.now): number {
    return openingAt(this.program.doors[door]!, this.doors[door]!, t);
  }

  /** Names the whole state at `now`, times relative to it: equal keys, equal future. */
  key(): string {
    const { now, program } = this;
    const parts: number[] = [this.power ? 1 : 0, this.waking ? 1 : 0];
    for (const bytes of [this.values, this.previous, this.output]) packBits(bytes, parts);
    if (!this.power) packBits(this.inputs, parts);
    for (let e = 0; e < program.elements; e++) {
      if (this.counts[e] !== 0) parts.push(-1 - e, this.counts[e]!);
      if (this.timers.has(e)) parts.push(e, this.timers.dueTime(e) - now);
    }
    for (const lane of this.lanes) {
      parts.push(-0.5);
      lane.each((time, change) => parts.push(time - now, change));
    }
    for (let d = 0; d < this.doors.length; d++) {
      parts.push(unitsAt(program.doors[d]!, this.doors[d]!, now), this.doors[d]!.target);
    }
    if (program.style === 'scan') {
      parts.push((now - this.scanOrigin) % program.scan, this.nextScan === Infinity ? -1 : this.nextScan - now);
    }
    for (const operation of this.operations) parts.push(operation.t - now, operation.net, operation.value ? 1 : 0);
    return parts.join();
  }

  /** Keeps the state at `now`, to return to with `restore`. */
  snapshot(): Snapshot {
    return {
      now: this.now,
      bytes: [this.values, this.previous, this.output, this.inputs].map((b) => b.slice()),
      startCause: this.startCause.slice(),
      counts: this.counts.slice(),
      lanes: this.lanes.map((lane) => lane.save()),
      laneAgenda: this.laneAgenda.save(),
      timers: this.timers.save(),
      doors: this.doors.map((d) => ({ ...d })),
      rows: [this.edges.count, this.timerEvents.count, this.moves.length],
      operations: this.operations.slice(),
      flags: [this.power, this.waking],
      scans: [this.scanOrigin, this.nextScan],
      stopped: this.stopped,
    };
  }

  /** Back to a snapshot of this engine; what was recorded since is dropped. */
  restore(state: Snapshot): void {
    const columns = [this.values, this.previous, this.output, this.inputs];
    state.bytes.forEach((bytes, i) => columns[i]!.set(bytes));
    this.now = state.now;
    this.startCause.set(state.startCause);
    this.counts.set(state.counts);
    this.lanes.forEach((lane, i) => lane.load(state.lanes[i]!));
    this.laneAgenda.load(state.laneAgenda);
    this.timers.load(state.timers);
    state.doors.forEach((door, i) => Object.assign(this.doors[i]!, door));
    [this.edges.count, this.timerEvents.count, this.moves.length] = state.rows;
    this.operations = state.operations.slice();
    [this.power, this.waking] = state.flags;
    [this.scanOrigin, this.nextScan] = state.scans;
    this.stopped = state.stopped;
    // A run that stopped in a loop leaves work behind.
    this.current.count = this.next.count = this.later.count = this.dirtyCount = 0;
    this.elementStamp.fill(0);
    this.recount();
  }

  /** Makes `now` the time zero of a new record; what is under way keeps its distance from now. */
  rebase(): void {
    const by = -this.now;
    this.laneAgenda.shift(by);
    this.timers.shift(by);
    this.lanes.forEach((lane) => {
      const flat = lane.save();
      for (let i = 0; i < flat.length; i += 4) {
        flat[i]! += by;
        flat[i + 2] = -1;
      }
      lane.load(flat);
    });
    this.startCause.fill(-1);
    this.touchCause.fill(-1);
    this.doors.forEach((door) => {
      door.since += by;
      door.arrives += by;
    });
    this.operations = this.operations.map((o) => ({ ...o, t: o.t + by }));
    this.scanOrigin += by;
    this.nextScan += by;
    this.now = 0;
    this.edges.count = this.timerEvents.count = this.moves.length = 0;
    this.start = 0;
    this.initial = this.values.slice();
    this.initialDoors = this.doors.map((d) => ({ ...d }));
  }

  /** What was recorded since the start, or since the last `rebase`, up to `end` (now by default). */
  trace(end = this.now): Trace {
    const edges = Array.from({ length: this.edges.count }, (_, row) => this.edges.edge(row));
    return {
      start: this.start,
      end,
      initial: Array.from(this.initial, (v) => v === 1),
      edges,
      doors: this.program.doors.map((_, door) => this.track(door, this.initialDoors[door]!, this.start, 0)),
      stopped: this.stopped,
    };
  }

  /** Tracks of all doors since a snapshot was taken. */
  tracksSince(state: Snapshot): DoorTrack[] {
    return this.program.doors.map((_, door) => this.track(door, state.doors[door]!, state.now, state.rows[2]));
  }

  /** In scan style, waits for the next scan: the instant at which a trigger coincides with one. */
  alignToScan(): void {
    const { style, scan } = this.program;
    if (style !== 'scan') return;
    this.advanceTo(this.scanOrigin + Math.ceil((this.now - this.scanOrigin) / scan) * scan);
  }

  private track(door: number, first: DoorState, start: number, firstRow: number): DoorTrack {
    const program = this.program.doors[door]!;
    const moves: DoorMove[] = [];
    for (let row = firstRow; row < this.moves.length; row++) {
      const { door: whose, ...move } = this.moves[row]!;
      if (whose === door) moves.push(move);
    }
    const initial = openingAt(program, first, start);
    if (start >= first.arrives) return { initial, moves };
    // Already on the way at the start: a move of its own, so that a reader needs nothing from before.
    const under = { t: start, from: initial, to: first.target, arrives: first.arrives, cause: -1 };
    return { initial, moves: [under, ...moves] };
  }

  private operate(operation: Operation): void {
    let at = this.operations.length;
    while (at > 0 && this.operations[at - 1]!.t > operation.t) at--;
    this.operations.splice(at, 0, operation);
  }

  // ---------------------------------------------------------------- instants

  /** First evaluation after power comes: every element looks at its inputs, every door at its drive. */
  private wake(): void {
    this.waking = false;
    this.scanOrigin = this.now;
    this.nextScan = this.now;
    this.stamp++;
    if (this.program.style === 'response') for (let e = 0; e < this.program.elements; e++) this.touch(e, -1);
    this.doors.forEach((_, door) => this.touchDoor(door, -1));
  }

  private responseInstant(t: number): void {
    this.takeOperations(t);
    while (this.laneAgenda.nextTime === t) this.takeLane(this.laneAgenda.nextId, t);
    this.settleNets(t);
    if (this.stopped || this.timers.nextTime !== t) return;
    while (this.timers.nextTime === t) {
      const element = this.timers.nextId;
      this.timers.remove(element);
      this.runOut(element, t);
    }
    this.swap();
    this.settleNets(t);
  }

  private takeOperations(t: number): void {
    while (this.operations.length > 0 && this.operations[0]!.t === t) {
      const { net, value } = this.operations.shift()!;
      if (net < 0) this.switchPower(value);
      else if (this.isInput[net]) this.takeInput(net, value ? 1 : 0);
    }
  }

  private takeInput(net: number, value: number): void {
    this.inputs[net] = value;
    if (!this.power) return;
    if (this.program.style === 'response') this.current.add(2 * net + value, -1, 0);
    else if (this.values[net] !== value) {
      this.change(net, value, -1, 0);
      const { scan } = this.program;
      const grid = this.scanOrigin + Math.ceil((this.now - this.scanOrigin) / scan) * scan;
      this.nextScan = Math.min(this.nextScan, grid);
    }
  }

  private takeLane(id: number, t: number): void {
    const lane = this.lanes[id]!;
    while (lane.size > 0 && lane.headTime === t) lane.popInto(this.current);
    if (lane.size > 0) this.laneAgenda.set(id, lane.headTime);
    else this.laneAgenda.remove(id);
  }

  /** Delta steps until nothing changes any more. */
  private settleNets(t: number): void {
    const limit = 64 + 4 * this.program.elements + this.current.count;
    let steps = 0;
    while (this.current.count > 0 || this.dirtyCount > 0) {
      this.applyCurrent();
      this.evaluateDirty(t);
      this.current.count = 0;
      this.swap();
      if (++steps > limit) return this.giveUp(t, steps);
    }
  }

  private swap(): void {
    const used = this.current;
    this.current = this.next;
    this.next = this.later;
    this.later = used;
    this.later.count = 0;
  }

  private applyCurrent(): void {
    const { current } = this;
    if (current.count > 1) current.sort();
    const stamp = ++this.stamp;
    for (let i = 0; i < current.count; i++) {
      const change = current.change[i]!;
      const net = change >> 1;
      if (this.netStamp[net] === stamp) {
        this.next.add(change, current.cause[i]!, current.preset[i]!);
        continue;
      }
      if (this.values[net] === (change & 1)) continue;
      this.netStamp[net] = stamp;
      this.change(net, change & 1, current.cause[i]!, current.preset[i]!);
    }
  }

  private evaluateDirty(t: number): void {
    const { dirty } = this;
    const count = this.dirtyCount;
    this.dirtyCount = 0;
    for (let i = 1; i < count; i++) {
      const element = dirty[i]!;
      let j = i - 1;
      for (; j >= 0 && dirty[j]! > element; j--) dirty[j + 1] = dirty[j]!;
      dirty[j + 1] = element;
    }
    for (let i = 0; i < count; i++) {
      this.elementStamp[dirty[i]!] = 0;
      this.evaluate(dirty[i]!, t);
    }
  }

  /** The nets that go on changing are those that change in as many further steps as the limit allowed. */
  private giveUp(t: number, steps: number): void {
    const busy = new Set<number>();
    for (let i = 0; i < steps; i++) {
      for (let j = 0; j < this.current.count; j++) busy.add(this.current.change[j]! >> 1);
      this.applyCurrent();
      this.evaluateDirty(t);
      this.current.count = 0;
      this.swap();
    }
    this.stopped = { reason: 'loop', nets: [...busy].sort((a, b) => a - b), t };
  }

  private scanInstant(t: number): void {
    this.takeOperations(t);
    if (this.nextScan !== t || !this.power) return;
    const before = this.edges.count;
    for (let e = 0; e < this.program.elements; e++) {
      this.evaluate(e, t);
      if (!this.timers.has(e) || this.timers.dueTime(e) > t) continue;
      this.timers.remove(e);
      this.runOut(e, t);
    }
    this.dirtyCount = 0;
    const { scan } = this.program;
    if (this.edges.count > before) this.nextScan = t + scan;
    else this.nextScan = this.scanOrigin + Math.ceil((this.timers.nextTime - this.scanOrigin) / scan) * scan;
  }

  private switchPower(on: boolean): void {
    if (on === this.power) return;
    this.power = on;
    this.doors.forEach((_, door) => this.touchDoor(door, -1));
    if (on) {
      this.inputs.forEach((value, net) => value === 1 && this.change(net, 1, -1, 0));
      this.wake();
      return;
    }
    this.lanes.forEach((lane) => lane.clear());
    this.laneAgenda.clear();
    this.timers.clear();
    this.current.count = 0;
    for (const column of [this.previous, this.output, this.counts]) column.fill(0);
    this.values.forEach((value, net) => value === 1 && this.change(net, 0, -1, 0));
    for (let i = 0; i < this.dirtyCount; i++) this.elementStamp[this.dirty[i]!] = 0;
    this.dirtyCount = 0;
    this.waking = false;
    this.nextScan = Infinity;
  }

  // ---------------------------------------------------------------- nets and doors

  private change(net: number, value: number, cause: number, preset: number): void {
    const row = this.recording ? this.edges.add(this.now, 2 * net + value, cause, preset) : this.edges.count++;
    this.force(net, value);
    const { fanStart, fanElement, driveStart, driveDoor } = this.program;
    for (let i = fanStart[net]!; i < fanStart[net + 1]!; i++) this.touch(fanElement[i]!, row);
    for (let i = driveStart[net]!; i < driveStart[net + 1]!; i++) this.touchDoor(driveDoor[i]!, row);
  }

  /** Sets a net and what is counted from it, without an edge. */
  private force(net: number, value: number): void {
    this.values[net] = value;
    const { fanStart, fanFunction, fanBit, driveStart, driveDoor } = this.program;
    for (let i = fanStart[net]!; i < fanStart[net + 1]!; i++) this.index[fanFunction[i]!]! ^= fanBit[i]!;
    for (let i = driveStart[net]!; i < driveStart[net + 1]!; i++) this.drivesOn[driveDoor[i]!]! += value === 1 ? 1 : -1;
  }

  /** Works out again what `force` counts, from the net values. */
  private recount(): void {
    this.index.fill(0);
    this.drivesOn.fill(0);
    const { fanStart, fanFunction, fanBit, driveStart, driveDoor, nets } = this.program;
    for (let net = 0; net < nets; net++) {
      if (this.values[net] === 0) continue;
      for (let i = fanStart[net]!; i < fanStart[net + 1]!; i++) this.index[fanFunction[i]!]! ^= fanBit[i]!;
      for (let i = driveStart[net]!; i < driveStart[net + 1]!; i++) this.drivesOn[driveDoor[i]!]!++;
    }
  }

  private touch(element: number, cause: number): void {
    this.touchCause[element] = cause;
    if (this.elementStamp[element] !== 0) return;
    this.elementStamp[element] = 1;
    this.dirty[this.dirtyCount++] = element;
  }

  private touchDoor(door: number, cause: number): void {
    this.doorCause[door] = cause;
    if (!this.dirtyDoors.includes(door)) this.dirtyDoors.push(door);
  }

  private settleDoors(t: number): void {
    if (this.dirtyDoors.length === 0) return;
    for (const door of this.dirtyDoors.sort((a, b) => a - b)) {
      const program = this.program.doors[door]!;
      const state = this.doors[door]!;
      const led = this.power && program.drives > 0;
      const target = led ? (this.drivesOn[door]! > 0 ? 1 : 0) : program.rest;
      if (target === state.target) continue;
      this.moves.push({ door, ...turnDoor(program, state, target, t, this.doorCause[door]!) });
    }
    this.dirtyDoors.length = 0;
  }

  // ---------------------------------------------------------------- blocks

  private valueOf(fn: number): number {
    if (fn < 0) return 0;
    const base = this.program.base[fn]!;
    if (base >= 0) return this.program.table[base + this.index[fn]!]!;
    return evaluateLogic(this.program.wide[fn]!, this.values);
  }

  private emit(element: number, value: number, cause: number, preset: number): void {
    this.output[element] = value;
    const net = this.program.outputNet[element]!;
    if (this.program.style === 'scan') return this.change(net, value, cause, preset);
    const lane = this.program.lane[element]!;
    if (lane < 0) return this.next.add(2 * net + value, cause, preset);
    const due = this.now + this.program.response[element]!;
    const queue = this.lanes[lane]!;
    if (queue.size === 0) this.laneAgenda.set(lane, due);
    queue.push(due, 2 * net + value, cause, preset);
  }

  private evaluate(e: number, t: number): void {
    const { program } = this;
    const x = this.valueOf(program.input0[e]!);
    const kind = program.kind[e]!;
    if (kind === 0) {
      if (x !== this.output[e]) this.emit(e, x, this.touchCause[e]!, 0);
      return;
    }
    if (kind === TON || kind === TOF || kind === TP) return this.evaluateTimer(e, kind, x, t);
    if (kind === R_TRIG || kind === F_TRIG) return this.evaluateTrigger(e, kind === F_TRIG ? 1 - x : x, t);
    const y = this.valueOf(program.input1[e]!);
    const q =
      kind === SR
        ? x | ((1 - y) & this.output[e]!)
        : kind === RS
          ? (1 - y) & (x | this.output[e]!)
          : this.counted(e, x, y);
    if (q !== this.output[e]) this.emit(e, q, this.touchCause[e]!, 0);
  }

  /** CTU: counts rising edges of CU up to PV (more cannot be seen from outside); R holds it at nought. */
  private counted(e: number, cu: number, r: number): number {
    const rising = cu === 1 && this.previous[e] === 0;
    this.previous[e] = cu;
    const limit = this.program.count[e]!;
    if (r === 1) this.counts[e] = 0;
    else if (rising && this.counts[e]! < limit) this.counts[e]!++;
    return this.counts[e]! >= limit ? 1 : 0;
  }

  private evaluateTimer(e: number, kind: number, x: number, t: number): void {
    if (x === this.previous[e]) return;
    this.previous[e] = x;
    const cause = this.touchCause[e]!;
    this.note(t, e, x === 1 ? TIMER_EVENT.on : TIMER_EVENT.off);
    if (kind === TP) {
      if (x === 0) return;
      if (this.timers.has(e)) return this.note(t, e, TIMER_EVENT.abandon);
      if (this.program.preset[e] === 0) return;
      this.startTimer(e, cause, t);
      return this.emit(e, 1, cause, 0);
    }
    // TON times while its input is on and TOF while it is off: the same block seen from the other side.
    const timed = kind === TON ? 1 : 0;
    if (x !== timed) {
      if (this.timers.has(e)) {
        this.timers.remove(e);
        this.note(t, e, TIMER_EVENT.abandon);
      }
      if (this.output[e] === timed) this.emit(e, 1 - timed, cause, 0);
    } else if (this.program.preset[e] === 0) {
      this.note(t, e, TIMER_EVENT.fire);
      this.emit(e, timed, cause, 0);
    } else this.startTimer(e, cause, t);
  }

  private startTimer(e: number, cause: number, t: number): void {
    this.timers.set(e, t + this.program.preset[e]!);
    this.startCause[e] = cause;
    this.note(t, e, TIMER_EVENT.start);
  }

  private runOut(e: number, t: number): void {
    const kind = this.program.kind[e]!;
    if (kind === R_TRIG || kind === F_TRIG) return this.emit(e, 0, this.startCause[e]!, 0);
    this.note(t, e, TIMER_EVENT.fire);
    this.emit(e, kind === TON ? 1 : 0, this.startCause[e]!, this.program.preset[e]!);
  }

  /** Edge detectors: `clk` is inverted for F_TRIG. The pulse lasts one scan, one response, or (zero response) one delta step. */
  private evaluateTrigger(e: number, clk: number, t: number): void {
    const rising = clk === 1 && this.previous[e] === 0;
    this.previous[e] = clk;
    const cause = this.touchCause[e]!;
    if (this.program.style === 'scan') {
      if (rising !== (this.output[e] === 1)) this.emit(e, rising ? 1 : 0, cause, 0);
      return;
    }
    if (!rising) return;
    const response = this.program.response[e]!;
    if (response === 0) {
      const net = 2 * this.program.outputNet[e]!;
      this.next.add(net + 1, cause, 0);
      this.later.add(net, cause, 0);
      return;
    }
    this.timers.set(e, t + response);
    this.startCause[e] = cause;
    if (this.output[e] === 0) this.emit(e, 1, cause, 0);
  }

  private note(t: number, element: number, what: number): void {
    if (this.recording) this.timerEvents.add(t, element, what);
  }
}
