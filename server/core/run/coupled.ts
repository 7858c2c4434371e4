/**
 * The coupled run: the event engine and the contents of the chambers together, so that sensors see the chambers they are mounted on and
 * the rig starts, repeats and stops by itself. Balance level.
 *
 * Between two moments (an event of the control network, a door that arrives, an operation of the scenario) doors move evenly and feeds
 * and draws are constant, so the contents at any time in between are known in closed form. A sensor changes at the first whole
 * microsecond at which its threshold is passed, found by bisection; a reading that passes a threshold and comes back between two
 * moments is not seen (within one stretch a pressure rises or falls throughout, so this needs two causes that pull against each
 * other). `min_on` and `min_off` of sensors are assumptions for the proof and are not enforced here.
 */
import type { FlowModel, StrokeWatch } from '../flow/balance';
import { Balance, extremesOf, startContents } from '../flow/balance';
import { groupLabels, pocketVolume } from '../flow/cells';
import type { DoorPower } from '../flow/door-energy';
import type { ChamberState } from '../flow/facts';
import type { LineFlow } from '../flow/lines';
import type { Step } from '../flow/program';
import { groupsOf } from '../flow/program';
import type { Contents } from '../flow/settle';
import { stateOf } from '../flow/states';
import { reading } from '../flow/vessel';
import { drivesOfLine } from '../model/logic';
import type { Rig, Scenario } from '../model/rig';
import type { Engine } from '../timing/engine';
import type { Trace } from '../timing/trace';
import { doorPowers } from './flow-run';
import type { Motion } from '../model/motion';
import { isOffSeat, positionOf } from '../model/motion';
import { engineAtRest } from '../timing/rest';
import { doorsOf } from './moving-doors';
import { sensorValue, startSensors } from './sensing';

export interface CoupledOptions {
  /** Null: no operations, feeds and draws on from the start. */
  readonly scenario?: Scenario | null;
  /** µs; by default the scenario's duration, or one hour after its last step. */
  readonly until?: number;
  /** Contents of the chambers instead of those at the start, kg. */
  readonly start?: readonly number[];
  /** Net changes after which it is given up. */
  readonly budget?: number;
  /** Points of the series kept at most. */
  readonly points?: number;
}

export interface CoupledPoint {
  readonly t: number;
  /** Per chamber: kg, K. */
  readonly mass: readonly number[];
  readonly temperature: readonly number[];
  /** J since the start: doors, compression (as far as it is work put in), feeds and draws. */
  readonly energy: number;
  /** Openings so far of the door that moved most: strokes. */
  readonly strokes: number;
}

export interface CoupledRun {
  readonly trace: Trace;
  readonly until: number;
  readonly points: readonly CoupledPoint[];
  readonly final: readonly ChamberState[];
  readonly highest: readonly ChamberState[];
  readonly lowest: readonly ChamberState[];
  /** µs at which each chamber is first above its limit, null where it never is. */
  readonly overLimit: readonly (number | null)[];
  /** When strokes started, as openings of the first door of the first stack. */
  readonly strokes: readonly number[];
  /** kg through each line. */
  readonly lines: readonly number[];
  /** J */
  readonly energy: { readonly doors: number; readonly compression: number; readonly lines: number };
  /** kg in chambers and pockets at the start and the end; they differ by what lines moved. */
  readonly held: { readonly start: number; readonly end: number };
}

const HOUR = 3_600_000_000;

/** Runs a rig with its contents. */
export function runCoupled(rig: Rig, model: FlowModel, options: CoupledOptions = {}): CoupledRun {
  return new Coupling(rig, model, options).run();
}

class Coupling {
  private readonly balance: Balance;
  private readonly scratch: Balance;
  private readonly engine: Engine;
  private readonly doors: Motion[];
  private readonly powers: readonly DoorPower[];
  private readonly watch: Required<Pick<StrokeWatch, 'extremes' | 'work' | 'lines'>>;
  private readonly until: number;
  private readonly model: FlowModel;
  private readonly drivers: readonly (readonly number[])[];
  private readonly hand: boolean[];
  private readonly forced = new Set<number>();
  private readonly points: CoupledPoint[] = [];
  private readonly spacing: number;
  private readonly overLimit: (number | null)[];
  private readonly strokes: number[] = [];
  private sensors: boolean[];
  private seenMoves = 0;
  private now = 0;
  private power = true;
  private labels: Int32Array;
  private volumes: Float64Array;
  private doorJoules = 0;
  private lineJoules = 0;
  private nextOperation = 0;
  private readonly held0: number;
  private readonly steps: Scenario['steps'];

  constructor(
    private readonly rig: Rig,
    model: FlowModel,
    private readonly options: CoupledOptions,
  ) {
    this.model = { ...model, start: options.start ?? model.start };
    const scenario = options.scenario ?? null;
    this.steps = [...(scenario?.steps ?? [])].sort((a, b) => a.at.nominal - b.at.nominal);
    this.sensors = startSensors(rig, this.model);
    const sensorOf = new Map(rig.sensors.map((s, k) => [s.net, k]));
    const initial = new Map(rig.switches.map((s) => [s.net, s.initial]));
    this.engine = engineAtRest(
      rig,
      (net) => (sensorOf.has(net) ? this.sensors[sensorOf.get(net)!]! : (initial.get(net) ?? false)),
      options.budget ?? 400_000,
    );
    this.doors = doorsOf(rig, this.engine);
    this.powers = doorPowers(rig);
    this.volumes = this.volumesAt(0);
    this.labels = groupLabels(model.network, this.notShut(0));
    const contents = startContents(this.model, this.volumes);
    this.balance = new Balance(this.model, contents);
    this.scratch = new Balance(this.model, { mass: contents.mass.slice(), temperature: contents.temperature.slice() });
    this.watch = {
      extremes: extremesOf(contents, model.network.chambers),
      work: new Float64Array(1),
      lines: new Float64Array(model.lines.length),
    };
    this.drivers = rig.lines.map((_, line) => drivesOfLine(rig, line).map((d) => d.net));
    const last = scenario?.steps.reduce((t, step) => Math.max(t, step.at.nominal), 0) ?? 0;
    this.until = options.until ?? scenario?.duration?.nominal ?? last + HOUR;
    this.spacing = this.until / (options.points ?? 1500);
    this.hand = rig.lines.map((_, line) => {
      const first = scenario?.steps.find((s) => (s.action === 'feed' || s.action === 'draw') && s.target === line);
      return first ? !first.on : true;
    });
    this.overLimit = rig.chambers.map(() => null);
    this.held0 = this.held();
  }

  run(): CoupledRun {
    this.operate();
    this.instant();
    this.note(true);
    while (this.now < this.until && !this.engine.stopped) {
      const end = this.nextMoment();
      const t = this.firstSensorChange(end);
      this.flowTo(t);
      const changed = this.lookAtSensors(t);
      this.operate();
      this.instant();
      this.note(changed);
    }
    this.note(true);
    return this.result();
  }

  // ------------------------------------------------------------- moments

  private nextMoment(): number {
    let t = Math.min(this.until, this.engine.nextTime());
    for (const door of this.doors) if (door.arrives > this.now && door.arrives < t) t = door.arrives;
    const step = this.steps[this.nextOperation];
    if (step && step.at.nominal < t) t = Math.max(step.at.nominal, this.now);
    return Math.max(t, this.now);
  }

  /** Operations of the scenario that are due, in written order. */
  private operate(): void {
    const { steps } = this;
    for (; this.nextOperation < steps.length; this.nextOperation++) {
      const step = steps[this.nextOperation]!;
      if (step.at.nominal > this.now) return;
      if (step.action === 'power') {
        this.power = step.on;
        this.engine.setPower(step.on, this.now);
      } else if (step.action === 'switch') this.engine.setInput(this.rig.switches[step.target]!.net, step.on, this.now);
      else if (step.action === 'sensor') {
        this.forced.add(step.target);
        this.sensors[step.target] = step.on;
        this.engine.setInput(this.rig.sensors[step.target]!.net, step.on, this.now);
      } else this.hand[step.target] = step.on;
    }
  }

  /** Lets the engine do all that is due now, and takes its door movements over: connections and volumes change. */
  private instant(): void {
    const t = this.now;
    const before = this.doors.map((door) => positionOf(door, t));
    this.engine.advanceTo(t);
    for (; this.seenMoves < this.engine.moveCount; this.seenMoves++) {
      const { door, t: at, from, to, arrives } = this.engine.moveAt(this.seenMoves);
      this.doors[door] = { t: at, from, to, arrives };
      if (to === 1 && from === 0 && door === this.firstDoor) this.strokes.push(at);
    }
    this.reconnect(before, t);
  }

  private get firstDoor(): number {
    return this.rig.stacks[0]?.members.find((m) => m.kind === 'door')?.index ?? 0;
  }

  /** As in program.ts: doors that shut in no time are done first, then connections change, then doors that open in no time. */
  private reconnect(before: readonly number[], t: number): void {
    const at = this.doors.map((door) => positionOf(door, t));
    const reached = this.volumesOf(at.map((x, d) => Math.min(x, before[d]!)));
    this.stepTo(t, reached, this.labels, []);
    const notShut = this.notShut(t);
    const next = groupLabels(this.model.network, notShut);
    const moves = this.measured(notShut);
    if (moves.length > 0 || next.some((label, cell) => label !== this.labels[cell]))
      this.stepTo(t, reached, next, moves);
    this.stepTo(t, this.volumesOf(at), this.labels, []);
    this.wasOpen = notShut;
  }

  private measured(notShut: readonly boolean[]): number[] {
    return this.model.network.measured.flatMap((move, index) => {
      const last = move.doors[move.doors.length - 1];
      return last !== undefined && this.wasOpen[last] && !notShut[last] ? [index] : [];
    });
  }

  private wasOpen: readonly boolean[] = [];

  private notShut(t: number): boolean[] {
    return this.doors.map((door) => isOffSeat(door, t));
  }

  private volumesAt(t: number): Float64Array {
    return this.volumesOf(this.doors.map((door) => positionOf(door, t)));
  }

  private volumesOf(positions: readonly number[]): Float64Array {
    const { network } = this.model;
    const volumes = new Float64Array(network.chambers + network.doors);
    volumes.set(network.volume);
    positions.forEach((x, d) => (volumes[network.chambers + d] = pocketVolume(network, d, x)));
    return volumes;
  }

  // ------------------------------------------------------------- flow

  /** Seconds that each line runs within a stretch from now to `t`. */
  private lineSeconds(t: number): number[] {
    const span = (t - this.now) / 1e6;
    return this.rig.lines.map((_, line) => (this.runs(line) ? span : 0));
  }

  private runs(line: number): boolean {
    const nets = this.drivers[line]!;
    if (!this.hand[line] || (!this.power && this.line(line).power > 0)) return false;
    return nets.length === 0 || nets.some((net) => this.engine.value(net));
  }

  private line(index: number): LineFlow {
    return this.model.lines[index]!;
  }

  private stretch(t: number): Step {
    const after = this.volumesAt(t);
    const groups = groupsOf(this.model.network, this.labels, this.labels, this.volumes, after, true);
    return { t, span: (t - this.now) / 1e6, lineSeconds: this.lineSeconds(t), groups, moves: [], labels: this.labels };
  }

  private stepTo(t: number, after: Float64Array, labels: Int32Array, moves: readonly number[]): void {
    const groups = groupsOf(this.model.network, this.labels, labels, this.volumes, after, false);
    this.labels = labels;
    this.volumes = after;
    if (groups.length === 0 && moves.length === 0) return;
    this.balance.step({ t, span: 0, lineSeconds: [], groups, moves, labels }, this.watch);
  }

  private flowTo(t: number): void {
    if (t > this.now) {
      const step = this.stretch(t);
      this.countEnergy(t, step.lineSeconds);
      this.balance.step(step, this.watch);
      this.volumes = this.volumesAt(t);
    }
    this.now = t;
  }

  private countEnergy(t: number, lineSeconds: readonly number[]): void {
    const span = (t - this.now) / 1e6;
    this.doors.forEach((door, d) => {
      const power = this.powers[d]!;
      if (this.now < door.arrives) this.doorJoules += power.moving * span;
      else if (door.to !== power.rest) this.doorJoules += power.held * span;
    });
    this.model.lines.forEach((line, k) => (this.lineJoules += line.power * lineSeconds[k]!));
  }

  /** Contents at `t`, up to the next moment, in the scratch state. */
  private contentsAt(t: number): Contents {
    const { contents } = this.balance;
    this.scratch.contents.mass.set(contents.mass);
    this.scratch.contents.temperature.set(contents.temperature);
    if (t > this.now) this.scratch.step(this.stretch(t), {});
    return this.scratch.contents;
  }

  // ------------------------------------------------------------- sensors

  private valuesAt(contents: Contents): boolean[] {
    return this.rig.sensors.map((sensor, k) =>
      this.forced.has(k) ? this.sensors[k]! : sensorValue(this.model, sensor, this.sensors[k]!, contents),
    );
  }

  /** First whole µs up to `end` at which a sensor has changed, or `end`. */
  private firstSensorChange(end: number): number {
    if (this.rig.sensors.length === 0 || end <= this.now) return end;
    const changes = (t: number): boolean => this.valuesAt(this.contentsAt(t)).some((v, k) => v !== this.sensors[k]);
    if (!changes(end)) return end;
    let low = this.now;
    let high = end;
    while (high - low > 1) {
      const middle = Math.floor((low + high) / 2);
      if (changes(middle)) high = middle;
      else low = middle;
    }
    return high;
  }

  private lookAtSensors(t: number): boolean {
    const values = this.valuesAt(this.balance.contents);
    let changed = false;
    values.forEach((value, k) => {
      if (value === this.sensors[k]) return;
      changed = true;
      this.engine.setInput(this.rig.sensors[k]!.net, value, t);
    });
    this.sensors = values;
    return changed;
  }

  // ------------------------------------------------------------- record

  private note(always: boolean): void {
    const { mass, temperature } = this.balance.contents;
    this.rig.chambers.forEach((chamber, k) => {
      if (this.overLimit[k] !== null || !chamber.limit) return;
      const value = reading(this.model.law, this.model.vessels[k]!, chamber.limit.kind, mass[k]!, temperature[k]!);
      if (value !== null && value > chamber.limit.value.nominal * (1 + 1e-9)) this.overLimit[k] = this.now;
    });
    const last = this.points[this.points.length - 1];
    if (last && (last.t === this.now || (!always && this.now - last.t < this.spacing))) return;
    const chambers = this.model.network.chambers;
    this.points.push({
      t: this.now,
      mass: Array.from(mass.subarray(0, chambers)),
      temperature: Array.from(temperature.subarray(0, chambers)),
      energy: this.doorJoules + this.lineJoules + Math.max(0, this.watch.work[0]!),
      strokes: this.strokes.length,
    });
  }

  private held(): number {
    return this.balance.contents.mass.reduce((sum, m) => sum + m, 0);
  }

  private result(): CoupledRun {
    const { contents } = this.balance;
    const states = (at: Contents): ChamberState[] =>
      this.rig.chambers.map((_, k) => stateOf(this.model, k, at.mass[k]!, at.temperature[k]!));
    return {
      trace: this.engine.trace(),
      until: this.until,
      points: this.points,
      final: states(contents),
      highest: states(this.watch.extremes.high),
      lowest: states(this.watch.extremes.low),
      overLimit: this.overLimit,
      strokes: this.strokes,
      lines: Array.from(this.watch.lines),
      energy: { doors: this.doorJoules, compression: this.watch.work[0]!, lines: this.lineJoules },
      held: { start: this.held0, end: this.held() },
    };
  }
}
