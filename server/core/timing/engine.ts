/**
 * The event engine: a stepper over a rig's control network and doors, in whole microseconds.
 *
 * Order at one instant: operations from outside and changes that come out of their responses, in rounds (`Network`) until nothing
 * changes any more (the k-th change of one net at one instant belongs to the k-th round); then the timers that are due at this instant
 * run out one after the other, those that feed others first (in a loop: as written), each followed by rounds: one whose input goes off
 * in them gives nothing; then the doors, which see the settled values only. In scan style the inputs are read, the elements evaluated
 * in written order, and timers seen at the instant of the scan; a scan that can change nothing is passed over.
 *
 * Why a stepper of events and not of time: a preset of minutes beside responses of a millisecond would take millions of empty steps, and any
 * step but one microsecond would round. Here the cost is that of the changes alone. Why whole microseconds: sums of times are exact, so
 * "at the same moment" is a question of equality, states can be compared bit by bit (`pattern.ts`), and two orders of adding the same
 * presets give the same moment.
 *
 * Invariants, between two instants: `now` never goes back (except by `restore` and `rebase`); no pending operation is earlier than `now`,
 * and every lane head and timer is later, unless the engine has stopped or a timer waits for its scan; `operations` are ordered by time,
 * those of one time in the order entered; the drives counted in `Doors` are the driving nets that are on. Values are right-continuous:
 * until the next instant they are what the last one left.
 */
import type { Rig } from '../model/rig';
import type { ColumnsState } from './columns';
import type { Group, Grouping } from './groups';
import { Doors } from './motion';
import type { DoorsState } from './motion';
import { Network } from './network';
import { compileProgram } from './program';
import type { Work } from '../work/work';
import type { Program, TimeChoice } from './program';
import type { DoorMoveRow } from './record';
import type { DoorTrack, Trace } from './trace';

export interface EngineOptions {
  /** Edges after which the engine stops with `reason: 'budget'`; 200 000 by default. */
  readonly budget?: number;
  /** Choice of times within tolerance, nominal by default. */
  readonly times?: TimeChoice;
  /** Value of an input net at the start; by default `initialInputs(rig)`. */
  readonly inputs?: (net: number) => boolean;
  /** `none` keeps no edges and moves, only the number of edges: for long runs. */
  readonly record?: 'all' | 'none';
  /** A program compiled before (with the same times), to spare the work. */
  readonly program?: Program;
}

/** What is under way in an engine, to return to later. */
export interface Snapshot {
  readonly now: number;
  readonly columns: ColumnsState;
  readonly doors: DoorsState;
  readonly edges: number;
  readonly timerEvents: number;
  readonly operations: readonly Operation[];
  readonly power: boolean;
  readonly waking: boolean;
  readonly scanOrigin: number;
  readonly nextScan: number;
  readonly stopped: Trace['stopped'];
}

/** How much has been recorded: rows of edges, timer events and door moves. */
export interface RecordRows {
  readonly edges: number;
  readonly timerEvents: number;
  readonly moves: number;
}

interface Operation {
  readonly t: number;
  /** Net, or -1 for power. */
  readonly net: number;
  readonly value: boolean;
}

/** Inputs at the start: switches as declared, sensors as the starting contents give them, or as over an empty chamber. */
export function initialInputs(rig: Rig): (net: number) => boolean {
  const on = new Set<number>();
  for (const s of rig.switches) if (s.initial) on.add(s.net);
  for (const s of rig.sensors) if (s.initiallyOn ?? s.on?.side === 'below') on.add(s.net);
  return (net) => on.has(net);
}

/** An engine at time zero, powered, nothing evaluated yet: the first `step` is the first evaluation. */
export function createEngine(rig: Rig, options: EngineOptions = {}): Engine {
  const program = options.program ?? compileProgram(rig, options.times);
  const isInput = rig.network.nets.map((net) => net.kind !== 'element');
  return new Engine(program, isInput, options.inputs ?? initialInputs(rig), options);
}

/** Instants that one step of a longer computation runs. */
export const INSTANTS = 32;

/** One run of a rig, moved on by its caller. Deterministic: equal calls give equal runs. */
export class Engine {
  /** Time of the last instant, or up to which the engine was advanced. */
  now = 0;
  /** Why it goes no further, if it does not. */
  stopped: Trace['stopped'] = null;

  private readonly program: Program;
  private readonly network: Network;
  private readonly doors: Doors;
  private readonly isInput: readonly boolean[];
  private readonly recording: boolean;
  private budget: number;
  /** Power is there: without it inputs are remembered but not seen, and nothing is under way. */
  private operations: Operation[] = [];
  private power = true;
  /** Power has just come: the first evaluation is still to be done, at `now`. */
  private waking = true;
  /** Scan style: scans are at `scanOrigin + k · scan`; `nextScan` is the next that can change anything, `Infinity` if none can. */
  private scanOrigin = 0;
  private nextScan = Infinity;
  private initial: Uint8Array;

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
    this.doors = new Doors(program);
    this.network = new Network(program, this.recording, (net, value, edge) => this.driveDoors(net, value, edge));
    const { columns } = this.network;
    isInput.forEach((input, net) => {
      if (input && initially(net)) columns.inputs[net] = columns.values[net] = 1;
    });
    columns.reindex();
    this.countDrives();
    this.initial = columns.values.slice();
  }

  /** Value of each net now (right-continuous), 0 or 1. */
  get values(): Readonly<Uint8Array> {
    return this.network.columns.values;
  }

  /** Value of one net now. */
  value(net: number): boolean {
    return this.network.columns.values[net] === 1;
  }

  /** Edges so far. */
  get edgeCount(): number {
    return this.network.edges.count;
  }

  /** Door moves so far, in order of time. */
  get moves(): readonly DoorMoveRow[] {
    return this.doors.moves;
  }

  /** Number of door moves so far. */
  get moveCount(): number {
    return this.doors.moves.length;
  }

  /** Door move number `row` (0 … `moveCount` − 1), for a caller that follows the doors while the engine runs. */
  moveAt(row: number): DoorMoveRow {
    return this.doors.moves[row]!;
  }

  get timerEvents() {
    return this.network.timerEvents;
  }

  /** Time of the next instant at which anything happens; `Infinity` when all is quiet. Moving doors do not count. */
  nextTime(): number {
    if (this.stopped !== null) return Infinity;
    if (this.waking) return this.now;
    const outside = this.operations.length > 0 ? this.operations[0]!.t : Infinity;
    // In scan style an operation is an instant of its own: the input changes then, though the program sees it at the next scan.
    if (this.program.style === 'scan') return Math.min(outside, this.nextScan);
    const due = this.network.nextDue();
    const expiry = this.network.columns.timers.nextTime;
    const inside = due < expiry ? due : expiry;
    return inside < outside ? inside : outside;
  }

  /** When the last moving door arrives; not later than `now` when all stand still. */
  doorsArrive(): number {
    return this.doors.latestArrival();
  }

  /** When one door arrives, or arrived. */
  doorArrives(door: number): number {
    return this.doors.arrival(door);
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
    for (let next = this.nextTime(); next <= t && next < Infinity; next = this.nextTime()) this.instant(next);
    if (this.stopped === null) this.now = Math.max(this.now, t);
  }

  /** The same in steps. */
  *advancing(t: number): Work<void> {
    let count = 0;
    for (let next = this.nextTime(); next <= t && next < Infinity; next = this.nextTime()) {
      this.instant(next);
      if (++count % INSTANTS === 0) yield;
    }
    if (this.stopped === null) this.now = Math.max(this.now, t);
  }

  /** In scan style, waits for the next scan: the instant at which a trigger coincides with one. */
  alignToScan(): void {
    if (this.program.style === 'scan') this.advanceTo(this.scanFrom(this.now));
  }

  /** Runs the next instant. Does nothing when there is none. */
  step(): void {
    const next = this.nextTime();
    if (next < Infinity) this.instant(next);
  }

  private instant(t: number): void {
    this.now = t;
    this.network.at(t);
    if (this.waking) this.wake();
    if (this.operations.length > 0) this.takeOperations(t);
    if (this.program.style === 'scan') this.scanInstant(t);
    else this.responseInstant(t);
    // Doors last, once: a drive that went off and on again within the instant moves nothing.
    this.doors.settle(t, this.power, this.recording);
    if (this.network.edges.count >= this.budget) this.stopped ??= { reason: 'budget' };
  }

  /** Stops permanently: whoever runs it has spent what the answer may cost. */
  giveUp(): void {
    this.stopped ??= { reason: 'budget' };
  }

  /** Opening of a door at time `t`, between now and the next instant: 0 shut … 1 fully open. */
  doorPosition(door: number, t = this.now): number {
    return this.doors.opening(door, t);
  }

  /** Whether every door stands shut now. */
  allShut(): boolean {
    return this.doors.allShut(this.now);
  }

  /** Words that name the whole state at `now`, times relative to now: equal words, equal future. */
  wholeStateWords(): number[] {
    const { now, program } = this;
    const words: number[] = [this.power ? 1 : 0, this.waking ? 1 : 0];
    this.network.columns.addKey(words, program.whole, now, this.power);
    this.doors.addKey(words, now);
    if (program.style === 'scan') {
      // The phase within the scan is state, too: an input meets the next scan by it.
      words.push((now - this.scanOrigin) % program.scan, this.nextScan === Infinity ? -1 : this.nextScan - now);
    }
    for (const operation of this.operations) words.push(operation.t - now, operation.net, operation.value ? 1 : 0);
    return words;
  }

  /** `wholeStateWords` as one text. */
  key(): string {
    return this.wholeStateWords().join();
  }

  /** Net and value of edge number `row`, as `2 * net + value`. */
  edgeChange(row: number): number {
    return this.network.edges.change[row]!;
  }

  /** Rows recorded so far. */
  get rows(): RecordRows {
    const { edges, timerEvents } = this.network;
    return { edges: edges.count, timerEvents: timerEvents.count, moves: this.moveCount };
  }

  /**
   * Goes on by `times` periods of `period` µs like the last one, of which the record began at `from`, without running them: what was recorded
   * since is laid down again, later each time, and all that is under way comes that much later. Edges so repeated are not held against the
   * budget. The state must be what it was then, times counted from their instants (`key`). False, and nothing is done, where an operation is
   * still to come.
   */
  repeat(from: RecordRows, period: number, times: number): boolean {
    if (this.awaitsOperation || this.stopped !== null) return false;
    const { edges, timerEvents } = this.network;
    const per = edges.count - from.edges;
    const by = times * period;
    edges.repeat(from.edges, period, times);
    timerEvents.repeat(from.timerEvents, period, times);
    this.doors.repeat(from.moves, period, times, per);
    this.network.moveOn(by, times * per);
    this.budget += times * per;
    this.scanOrigin += by;
    this.nextScan += by;
    this.now += by;
    return true;
  }

  /** Independent groups of what drives doors, feeds and draws; signals that drive nothing (lamps) belong to none. */
  get grouping(): Grouping {
    return this.program.grouping;
  }

  /**
   * Words that name the state of one group just after an instant at which it changed, or at which the run began: equal words, equal
   * future of the group while inputs and power stay. In scan style such an instant is a scan, and the next scan follows it.
   */
  groupWords(group: Group): number[] {
    const words: number[] = [];
    this.network.columns.addKey(words, group, this.now, true);
    for (const door of group.doors) this.doors.addDoorKey(words, door, this.now);
    return words;
  }

  /** Whether anything of a group is under way (its doors do not count). */
  groupPending(group: Group): boolean {
    return this.network.columns.pending(group);
  }

  /** Whether operations entered before are still to come. */
  get awaitsOperation(): boolean {
    return this.operations.length > 0;
  }

  get scanned(): boolean {
    return this.program.style === 'scan';
  }

  /** Net of edge number `row`. */
  edgeNet(row: number): number {
    return this.network.edges.change[row]! >> 1;
  }

  /** The nets that a pattern of all groups covers, ascending; null where they are all nets. */
  get covers(): readonly number[] | null {
    const { driving, whole } = this.program;
    return driving.nets.length === whole.nets.length ? null : Array.from(driving.nets);
  }

  /** Keeps the state at `now`, to return to with `restore`. */
  snapshot(): Snapshot {
    return {
      now: this.now,
      columns: this.network.columns.save(),
      doors: this.doors.save(),
      edges: this.network.edges.count,
      timerEvents: this.network.timerEvents.count,
      operations: this.operations.slice(),
      power: this.power,
      waking: this.waking,
      scanOrigin: this.scanOrigin,
      nextScan: this.nextScan,
      stopped: this.stopped,
    };
  }

  /** Back to a snapshot of this engine; what was recorded since is dropped. */
  restore(state: Snapshot): void {
    this.now = state.now;
    this.network.columns.load(state.columns);
    this.network.dropWork();
    this.network.edges.count = state.edges;
    this.network.timerEvents.count = state.timerEvents;
    this.doors.load(state.doors);
    this.countDrives();
    this.operations = state.operations.slice();
    this.power = state.power;
    this.waking = state.waking;
    this.scanOrigin = state.scanOrigin;
    this.nextScan = state.nextScan;
    this.stopped = state.stopped;
  }

  /** Makes `now` the time zero of a new record; what is under way keeps its distance from now. */
  rebase(): void {
    const by = -this.now;
    this.network.columns.rebase(by);
    this.network.forgetCauses();
    this.network.edges.count = this.network.timerEvents.count = 0;
    this.doors.rebase(by);
    this.operations = this.operations.map((o) => ({ ...o, t: o.t + by }));
    this.scanOrigin += by;
    this.nextScan += by;
    this.now = 0;
    this.initial = this.network.columns.values.slice();
  }

  /** What was recorded since the start, or since the last `rebase`, up to `end` (now by default, nor earlier). */
  trace(end = this.now): Trace {
    const { edges } = this.network;
    return {
      start: 0,
      end,
      initial: Array.from(this.initial, (v) => v === 1),
      edges: Array.from({ length: edges.count }, (_, row) => edges.edge(row)),
      doors: this.doors.tracks(),
      stopped: this.stopped,
    };
  }

  /** Tracks of all doors since a snapshot was taken. */
  tracksSince(state: Snapshot): DoorTrack[] {
    return this.doors.tracksSince(state.doors, state.now);
  }

  private operate(operation: Operation): void {
    // Behind those of the same time: operations of one moment are taken in the order in which they were entered.
    let at = this.operations.length;
    while (at > 0 && this.operations[at - 1]!.t > operation.t) at--;
    this.operations.splice(at, 0, operation);
  }

  /** First evaluation after power comes; scans count from here. */
  private wake(): void {
    this.waking = false;
    this.scanOrigin = this.nextScan = this.now;
    this.network.wake();
    this.doors.touchAll();
  }

  /** Changes that are due, in rounds; then timers that are due, one by one. */
  private responseInstant(t: number): void {
    const { network } = this;
    if (network.nextDue() === t) network.takeDue();
    let loop = network.settle();
    // One timer, then rounds, then the next: whatever the first one does at this moment can still cut the second one off.
    while (loop === null && network.columns.timers.nextTime === t) {
      network.runOutNext();
      loop = network.settle();
    }
    if (loop !== null) this.stopped = { reason: 'loop', nets: loop, t };
  }

  private scanInstant(t: number): void {
    if (this.nextScan !== t || !this.power) return;
    const changed = this.network.scan();
    // Edge detectors and forward references may go on changing by themselves; after a scan without change only timers can.
    this.nextScan = changed ? t + this.program.scan : this.scanFrom(this.network.columns.timers.nextTime);
  }

  /** The first scan at or after `t`. */
  private scanFrom(t: number): number {
    const { scan } = this.program;
    return this.scanOrigin + Math.ceil((t - this.scanOrigin) / scan) * scan;
  }

  private takeOperations(t: number): void {
    while (this.operations.length > 0 && this.operations[0]!.t === t) {
      const { net, value } = this.operations.shift()!;
      if (net < 0) this.switchPower(value);
      else if (this.isInput[net]) this.takeInput(net, value ? 1 : 0);
    }
  }

  /** An input changes: remembered always, seen while there is power. */
  private takeInput(net: number, value: number): void {
    const { columns } = this.network;
    columns.inputs[net] = value;
    if (!this.power) return;
    if (this.program.style === 'response') return this.network.offer(net, value);
    if (columns.values[net] === value) return;
    this.network.change(net, value, -1, 0);
    // At a scan's own moment it is that scan which sees the change: operations are taken before it.
    this.nextScan = Math.min(this.nextScan, this.scanFrom(this.now));
  }

  private switchPower(on: boolean): void {
    if (on === this.power) return;
    this.power = on;
    if (on) {
      const { inputs } = this.network.columns;
      // Power loss has set all nets off; inputs that stand on go on with power, before the first evaluation.
      inputs.forEach((value, net) => value === 1 && this.network.change(net, 1, -1, 0));
      return this.wake();
    }
    // Every net off, every block as before its first call, every door on its way to rest; no scans until power returns.
    this.network.powerOff();
    this.doors.touchAll();
    this.waking = false;
    this.nextScan = Infinity;
  }

  private driveDoors(net: number, value: number, edge: number): void {
    const { driveStart, driveDoor } = this.program;
    // Counted, not looked up: a door with several drives opens while any is on, and each change costs one addition.
    for (let i = driveStart[net]!, end = driveStart[net + 1]!; i < end; i++) {
      this.doors.countDrive(driveDoor[i]!, value === 1 ? 1 : -1);
      this.doors.touch(driveDoor[i]!, edge);
    }
  }

  private countDrives(): void {
    const { driveStart, driveDoor, nets } = this.program;
    this.doors.forgetDrives();
    for (let net = 0; net < nets; net++) {
      if (this.values[net] === 0) continue;
      for (let i = driveStart[net]!; i < driveStart[net + 1]!; i++) this.doors.countDrive(driveDoor[i]!, 1);
    }
  }
}
