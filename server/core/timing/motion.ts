/**
 * Doors on the move. A position is a whole number of units, exact at every microsecond, so that a reversal midway loses nothing; what
 * remains of a way is rounded up to a whole microsecond.
 *
 * The unit: with travels of a and b µs the whole way is lcm(a, b) units, so that one microsecond of opening is b/gcd units and one of
 * closing a/gcd, both whole. A fraction 0 … 1 would not do: after a reversal the same position would come out as two neighbouring doubles,
 * states would never return exactly, and a pattern would never close. Invariants of a door at time t ≥ `since`:
 *  - 0 ≤ units ≤ full; it is at its target from `arrives` on, and strictly between its ends only before that;
 *  - `target` is where the drives, or without power or drives the rest position, send it as of the last `settle`;
 *  - `dirty[0 … dirtyCount-1]` are the doors touched since, ascending, each once (`isDirty`): moves of one moment are recorded in the
 *    order of declaration.
 * Whole numbers are exact up to 2^53, that is as long as the two travels multiplied are below 9·10^15 µs² (two of 94 s with no common
 * divisor, far more for times of whole milliseconds).
 */
import type { DoorProgram, Program } from './program';
import type { DoorMoveRow } from './record';
import type { DoorMove, DoorTrack } from './trace';

export interface DoorsState {
  readonly columns: readonly Float64Array[];
  readonly target: Uint8Array;
  readonly moves: number;
}

/** All doors of a rig: where they are, where they go, and the moves made so far. */
export class Doors {
  readonly moves: DoorMoveRow[] = [];
  private readonly programs: readonly DoorProgram[];
  /** Position at time `since`; from there it goes towards `target`, where it is at `arrives`. */
  private readonly units: Float64Array;
  private readonly since: Float64Array;
  private readonly arrives: Float64Array;
  private readonly target: Uint8Array;
  private readonly drivesOn: Int32Array;
  private readonly dirty: Int32Array;
  private readonly isDirty: Uint8Array;
  private readonly cause: Int32Array;
  private dirtyCount = 0;
  private first: DoorsState;
  private start = 0;

  constructor(program: Program) {
    const { doors } = program;
    this.programs = doors;
    this.units = Float64Array.from(doors, (d) => (d.rest === 1 ? d.full : 0));
    this.since = new Float64Array(doors.length);
    this.arrives = new Float64Array(doors.length);
    this.target = Uint8Array.from(doors, (d) => d.rest);
    this.drivesOn = new Int32Array(doors.length);
    this.dirty = new Int32Array(doors.length);
    this.isDirty = new Uint8Array(doors.length);
    this.cause = new Int32Array(doors.length).fill(-1);
    this.first = this.save();
  }

  get count(): number {
    return this.programs.length;
  }

  /** Counts a drive of `door` on (+1) or off (−1). */
  countDrive(door: number, by: number): void {
    this.drivesOn[door]! += by;
  }

  forgetDrives(): void {
    this.drivesOn.fill(0);
  }

  /** Remembers that the drive of `door` may have changed, because of edge `cause`. */
  touch(door: number, cause: number): void {
    this.cause[door] = cause;
    if (this.isDirty[door] === 1) return;
    this.isDirty[door] = 1;
    // Insertion from the back: touched doors mostly come in order already.
    let at = this.dirtyCount++;
    for (; at > 0 && this.dirty[at - 1]! > door; at--) this.dirty[at] = this.dirty[at - 1]!;
    this.dirty[at] = door;
  }

  touchAll(): void {
    for (let door = 0; door < this.count; door++) this.touch(door, -1);
  }

  /** Lets the touched doors obey: drive on opens, off closes; without power or drive the door goes to rest. */
  settle(t: number, power: boolean, recording: boolean): void {
    if (this.dirtyCount === 0) return;
    const count = this.dirtyCount;
    this.dirtyCount = 0;
    for (let i = 0; i < count; i++) {
      const door = this.dirty[i]!;
      this.isDirty[door] = 0;
      const { drives, rest } = this.programs[door]!;
      const target = power && drives > 0 ? (this.drivesOn[door]! > 0 ? 1 : 0) : rest;
      if (target !== this.target[door]) this.turn(door, target, t, recording);
    }
  }

  /** Sends a door to the other end from where it is, and records the move. */
  private turn(door: number, target: number, t: number, recording: boolean): void {
    const program = this.programs[door]!;
    const units = this.unitsAt(door, t);
    // A travel of zero has infinite speed: the way is 0 whatever the units. Rounding up means it is never reported there too early.
    const way = target === 1 ? (program.full - units) / program.opens : units / program.closes;
    const arrives = t + Math.ceil(way);
    this.units[door] = units;
    this.since[door] = t;
    this.target[door] = target;
    this.arrives[door] = arrives;
    if (!recording) return;
    const from = units / program.full;
    this.moves.push({ door, t, from, to: target === 1 ? 1 : 0, arrives, cause: this.cause[door]! });
  }

  /** Position in units at a time not before its last move. */
  private unitsAt(door: number, t: number): number {
    const { full, opens, closes } = this.programs[door]!;
    // Asked first, so that infinite speed times zero microseconds is never computed.
    if (t >= this.arrives[door]!) return this.target[door] === 1 ? full : 0;
    const gone = t - this.since[door]!;
    if (this.target[door] === 1) return Math.min(full, this.units[door]! + gone * opens);
    return Math.max(0, this.units[door]! - gone * closes);
  }

  /** Opening at time `t`, not before the last move: 0 shut … 1 fully open. */
  opening(door: number, t: number): number {
    return this.unitsAt(door, t) / this.programs[door]!.full;
  }

  /** When a door is, or was, at its target. */
  arrival(door: number): number {
    return this.arrives[door]!;
  }

  /** When the last door is, or was, at its target. */
  latestArrival(): number {
    let latest = -Infinity;
    for (let door = 0; door < this.count; door++) latest = Math.max(latest, this.arrives[door]!);
    return latest;
  }

  /** Whether every door stands shut at time `t`. */
  allShut(t: number): boolean {
    for (let door = 0; door < this.count; door++) if (this.unitsAt(door, t) !== 0) return false;
    return true;
  }

  addKey(parts: number[], now: number): void {
    for (let door = 0; door < this.count; door++) this.addDoorKey(parts, door, now);
  }

  addDoorKey(parts: number[], door: number, now: number): void {
    // Where it is and where it goes is all its future depends on; when it began is not.
    parts.push(this.unitsAt(door, now), this.target[door]!);
  }

  /** Adds the moves since number `from` again `times` times, each `period` later, their causes `edges` rows later; doors under way come later. */
  repeat(from: number, period: number, times: number, edges: number): void {
    const moves = this.moves.slice(from);
    for (let n = 1; n <= times; n++) {
      for (const move of moves) {
        const cause = move.cause < 0 ? move.cause : move.cause + n * edges;
        this.moves.push({ ...move, t: move.t + n * period, arrives: move.arrives + n * period, cause });
      }
    }
    for (let door = 0; door < this.count; door++) {
      this.since[door]! += times * period;
      this.arrives[door]! += times * period;
      if (this.cause[door]! >= 0) this.cause[door]! += times * edges;
    }
  }

  /** Makes what is now the beginning of a new record, all times moved by `by`. */
  rebase(by: number): void {
    for (let door = 0; door < this.count; door++) {
      this.since[door]! += by;
      this.arrives[door]! += by;
    }
    this.moves.length = 0;
    this.first = this.save();
    this.start = 0;
  }

  save(): DoorsState {
    const columns = [this.units.slice(), this.since.slice(), this.arrives.slice()];
    return { columns, target: this.target.slice(), moves: this.moves.length };
  }

  load(state: DoorsState): void {
    [this.units, this.since, this.arrives].forEach((column, i) => column.set(state.columns[i]!));
    this.target.set(state.target);
    this.moves.length = state.moves;
  }

  tracks(): DoorTrack[] {
    return this.tracksSince(this.first, this.start);
  }

  /** Tracks from a state kept at time `start`; a door then under way begins with a move of its own, so that nothing before is needed. */
  tracksSince(state: DoorsState, start: number): DoorTrack[] {
    const moves: DoorMove[][] = this.programs.map(() => []);
    for (let row = state.moves; row < this.moves.length; row++) {
      const move = this.moves[row]!;
      moves[move.door]!.push(move);
    }
    const [units, since, arrives] = state.columns as [Float64Array, Float64Array, Float64Array];
    return this.programs.map((program, door) => {
      const to = state.target[door] === 1 ? 1 : 0;
      if (start >= arrives[door]!) return { initial: to, moves: moves[door]! };
      const gone = start - since[door]!;
      const at = units[door]! + (to === 1 ? gone * program.opens : -gone * program.closes);
      const initial = Math.min(1, Math.max(0, at / program.full));
      return { initial, moves: [{ t: start, from: initial, to, arrives: arrives[door]!, cause: -1 }, ...moves[door]!] };
    });
  }
}
