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
import type { Contents } from '../flow/contents';
import type { DoorPower } from '../flow/door-energy';
import { engineOf, startContents } from '../flow/engine';
import type { ChamberState, RunEnergy, RunPoint } from '../flow/facts';
import type { LineFlow } from '../flow/lines';
import type { Step } from '../flow/program';
import { StepBuilder } from '../flow/program';
import { type StrokeWatch, undoOf } from '../flow/watch';
import { whyLost } from '../flow/withheld';
import type { FlowEngine, FlowModel } from '../flow/rig-model';
import { drivesOfLine } from '../model/logic';
import { WorkBudget } from '../model/budget';
import type { Rig, Scenario } from '../model/rig';
import type { Engine } from '../timing/engine';
import type { Trace } from '../timing/trace';
import { doorPowers } from './flow-run';
import type { Motion } from '../model/motion';
import { isOffSeat, positionOf } from '../model/motion';
import { engineAtRest } from '../timing/rest';
import { doorsOf } from './moving-doors';
import { type ClosedPeriod, ClosedPeriods, LONG, type RunNow } from './closed-periods';
import { FlowCourse, type RunMoment } from './flow-course';
import { Recorder } from './record';
import { finish, type Work } from '../work/work';
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
  /** Work on the flow after which it is given up; `RUN_WORK` units by default. */
  readonly work?: WorkBudget;
  /** Points of the series kept at most. */
  readonly points?: number;
  /** Follows every period, however often it comes back; by default those that come back are counted. */
  readonly everyPeriod?: boolean;
  /** Units of work on the flow after which periods that still change a little are counted as well; `LONG` by default. */
  readonly long?: number;
}

export interface CoupledRun {
  readonly trace: Trace;
  readonly until: number;
  readonly points: readonly RunPoint[];
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
  readonly energy: RunEnergy;
  /** Highest temperature of each chamber, K. */
  readonly hottest: readonly number[];
  /** Units of work on the flow that it took (see `StrokeWatch.budget`). */
  readonly units: number;
  /** When and why the run ends before its time: the law, the material or the engine does not reach further. Null where it does not. */
  readonly left: { readonly t: number; readonly why: string } | null;
  /** Stretches made of one period over and over: counted, not followed. */
  readonly closed: readonly ClosedPeriod[];
  /** What every cell held, stretch by stretch, of long runs the beginning; `courseEnds`: µs up to which, null where to the end. */
  readonly course: readonly RunMoment[];
  readonly courseEnds: number | null;
  /** kg in chambers and pockets at the start and the end; they differ by what lines moved. */
  readonly held: { readonly start: number; readonly end: number };
}

const HOUR = 3_600_000_000;
/**
 * Error of one step of the integration, as part of what a pocket holds. Errors of many steps add up where doors leak and nothing is ever
 * still: at 1e-6 they came to 2e-4 of the mass moved, at this to 1e-5, for a quarter more time.
 */
const CLOSE = 1e-7;
/** Units of work on the flow (see `StrokeWatch.budget`) that one run may cost. */
export const RUN_WORK = 20_000_000;

/** Runs a rig with its contents. */
export const runCoupled = (rig: Rig, model: FlowModel, options: CoupledOptions = {}): CoupledRun =>
  finish(coupledWork(rig, model, options));

/** The same in steps. */
export const coupledWork = (rig: Rig, model: FlowModel, options: CoupledOptions = {}): Work<CoupledRun> =>
  new Coupling(rig, model, options).work();

class Coupling {
  private readonly flow: FlowEngine;
  private readonly scratch: FlowEngine;
  private readonly builder: StepBuilder;
  private readonly record: Recorder;
  private readonly watch: StrokeWatch;
  private readonly budget: WorkBudget;
  private readonly engine: Engine;
  private readonly doors: Motion[];
  private readonly powers: readonly DoorPower[];
  private readonly until: number;
  private readonly model: FlowModel;
  private readonly drivers: readonly (readonly number[])[];
  private readonly hand: boolean[];
  private readonly forced = new Set<number>();
  private readonly spacing: number;
  private readonly closed: ClosedPeriods;
  private readonly course: FlowCourse;
  private readonly strokes: number[] = [];
  private sensors: boolean[];
  private seenMoves = 0;
  private now = 0;
  private power = true;
  private left: CoupledRun['left'] = null;
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
    this.builder = new StepBuilder(
      model.network,
      this.doors.map((door) => positionOf(door, 0)),
    );
    this.flow = engineOf(this.model, startContents(this.model, this.builder.volumes), { relative: CLOSE });
    const { mass, temperature } = this.flow.contents;
    this.scratch = engineOf(this.model, { mass: mass.slice(), temperature: temperature.slice() }, { relative: CLOSE });
    this.record = new Recorder(rig, this.model, this.flow.contents);
    this.course = new FlowCourse(this.model, this.flow.contents, this.record);
    this.budget = options.work ?? new WorkBudget(RUN_WORK);
    const { extremes, work, lines, hottest, trapped } = this.record;
    this.watch = { extremes, work, lines, hottest, trapped, budget: this.budget };
    this.drivers = rig.lines.map((_, line) => drivesOfLine(rig, line).map((d) => d.net));
    const last = scenario?.steps.reduce((t, step) => Math.max(t, step.at.nominal), 0) ?? 0;
    this.until = options.until ?? scenario?.duration?.nominal ?? last + HOUR;
    this.spacing = this.until / (options.points ?? 1500);
    this.closed = new ClosedPeriods(this.spacing, options.long ?? LONG);
    this.hand = rig.lines.map((_, line) => {
      // A line with a drive obeys it until a step shuts the line off.
      if (this.drivers[line]!.length > 0) return true;
      const first = scenario?.steps.find((s) => (s.action === 'feed' || s.action === 'draw') && s.target === line);
      return first ? !first.on : true;
    });
    this.held0 = this.held();
  }

  *work(): Work<CoupledRun> {
    this.operate();
    this.instant();
    this.note(true);
    while (this.now < this.until && !this.engine.stopped && !this.isOver()) {
      const t = yield* this.flowOn(this.nextMoment());
      yield;
      const changed = this.lookAtSensors(t);
      const strokes = this.strokes.length;
      this.operate();
      this.instant();
      this.note(changed);
      if (!this.options.everyPeriod) this.closePeriods(changed, changed || this.strokes.length > strokes);
    }
    this.note(true);
    return this.result();
  }

  private lose(): void {
    this.left ??= { t: this.now, why: whyLost(this.budget) };
  }

  /** Whether the contents have gone where the law does not hold. */
  private isOver(): boolean {
    const why = this.record.beyond();
    if (why !== null) this.left ??= { t: this.now, why };
    return this.left !== null;
  }

  // ------------------------------------------------------------- periods

  /** Goes on by whole periods where the run has come back to where it was. */
  private closePeriods(changed: boolean, isMark: boolean): void {
    const { engine, strokes, record, closed } = this;
    const others = [this.power, ...this.hand, ...this.sensors].map(Number).join('');
    const units = this.budget.spent;
    const now: RunNow = { t: this.now, engine, contents: this.flow.contents, record, strokes, others, units };
    closed.follow(now, changed);
    if (!isMark || this.now >= this.until || this.left !== null) return;
    const by = closed.look(now, Math.min(this.until, this.steps[this.nextOperation]?.at.nominal ?? Infinity));
    if (by === 0) return;
    this.now += by;
    this.doors.forEach(
      ({ t, from, to, arrives }, d) => (this.doors[d] = { t: t + by, from, to, arrives: arrives + by }),
    );
    this.seenMoves = engine.moveCount;
    this.course.resume(this.now, this.builder.volumes);
  }

  // ------------------------------------------------------------- moments

  private nextMoment(): number {
    // Where nothing happens for long, contents are looked at all the same: curves have their points, limits are passed where they are.
    let t = Math.min(this.until, this.engine.nextTime(), Math.floor(this.now + this.spacing) + 1);
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
      this.closed.forget();
    }
  }

  /** Lets the engine do all that is due now, and takes its door movements over: connections and volumes change. */
  private instant(): void {
    const t = this.now;
    this.engine.advanceTo(t);
    for (; this.seenMoves < this.engine.moveCount; this.seenMoves++) {
      const { door, t: at, from, to, arrives } = this.engine.moveAt(this.seenMoves);
      this.doors[door] = { t: at, from, to, arrives };
      if (to === 1 && from === 0 && door === this.firstDoor) this.strokes.push(at);
    }
    this.reconnect(t);
  }

  private get firstDoor(): number {
    return this.rig.stacks[0]?.members.find((m) => m.kind === 'door')?.index ?? 0;
  }

  /** As in program.ts: doors that shut in no time are done first, then connections change, then doors that open in no time. */
  private reconnect(t: number): void {
    const { builder } = this;
    const at = this.doors.map((door) => positionOf(door, t));
    this.take(
      builder.move(
        t,
        0,
        at.map((x, d) => Math.min(x, builder.positions[d]!)),
        [],
      ),
    );
    this.take(
      builder.connect(
        t,
        this.doors.map((door) => isOffSeat(door, t)),
      ),
    );
    this.take(builder.move(t, 0, at, []));
    this.course.keep(
      t,
      builder.volumes,
      this.doors.map((door) => isOffSeat(door, t)),
    );
  }

  private take(step: Step | null): void {
    if (step && !this.flow.step(step, this.watch)) this.lose();
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

  private positionsAt(t: number): number[] {
    return this.doors.map((door) => positionOf(door, t));
  }

  /** Flows up to `end`, or to where a sensor changes before; returns when that is. Most stretches change none, and are integrated once. */
  private *flowOn(end: number): Work<number> {
    const { mass, temperature } = this.flow.contents;
    const [massBefore, temperatureBefore] = [mass.slice(), temperature.slice()];
    const undo = undoOf(this.watch);
    const step = this.stretchTo(end);
    this.take(step);
    if (step === null || !this.changesAny(this.flow.contents)) return this.arrive(end, step);
    mass.set(massBefore);
    temperature.set(temperatureBefore);
    undo();
    const t = yield* this.firstSensorChange(end);
    const part = this.stretchTo(t);
    this.take(part);
    return this.arrive(t, part);
  }

  /** From now to `t`, with doors and lines as they run; null where no time passes. */
  private stretchTo(t: number): Step | null {
    if (t <= this.now) return null;
    return this.builder.stretch(t, (t - this.now) / 1e6, this.positionsAt(t), this.lineSeconds(t));
  }

  /** It is `t`, after this stretch. */
  private arrive(t: number, step: Step | null): number {
    if (step) {
      this.countEnergy(step.span, step.lineSeconds);
      this.builder.takeOver(step);
      this.course.keep(t, this.builder.volumes, step.notShut);
    }
    this.now = t;
    return t;
  }

  private countEnergy(span: number, lineSeconds: readonly number[]): void {
    this.doors.forEach((door, d) => {
      const power = this.powers[d]!;
      if (this.now < door.arrives) this.record.countDoor(d, power, { moving: span, held: 0 });
      else if (door.to !== power.rest) this.record.countDoor(d, power, { moving: 0, held: span });
    });
    this.record.countLines((line) => lineSeconds[line]!);
  }

  /** Contents at `t`, up to the next moment, in the scratch state. */
  private contentsAt(t: number): Contents {
    const { mass, temperature } = this.flow.contents;
    this.scratch.contents.mass.set(mass);
    this.scratch.contents.temperature.set(temperature);
    const step = this.stretchTo(t);
    if (step && !this.scratch.step(step, { budget: this.budget })) this.lose();
    return this.scratch.contents;
  }

  // ------------------------------------------------------------- sensors

  private valuesAt(contents: Contents): boolean[] {
    return this.rig.sensors.map((sensor, k) =>
      this.forced.has(k) ? this.sensors[k]! : sensorValue(this.model, sensor, this.sensors[k]!, contents),
    );
  }

  private changesAny(contents: Contents): boolean {
    return this.valuesAt(contents).some((v, k) => v !== this.sensors[k]);
  }

  /** First whole µs up to `end`, where one has, at which a sensor has changed. */
  private *firstSensorChange(end: number): Work<number> {
    const changes = (t: number): boolean => this.changesAny(this.contentsAt(t));
    let low = this.now;
    let high = end;
    while (high - low > 1) {
      const middle = Math.floor((low + high) / 2);
      if (changes(middle)) high = middle;
      else low = middle;
      yield;
    }
    return high;
  }

  private lookAtSensors(t: number): boolean {
    const values = this.valuesAt(this.flow.contents);
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
    const { record } = this;
    record.look(this.now, this.strokes.length);
    const last = record.points[record.points.length - 1];
    if (last && (last.t === this.now || (!always && this.now - last.t < this.spacing))) return;
    record.keep(this.now, this.strokes.length);
  }

  private held(): number {
    return this.flow.contents.mass.reduce((sum, m) => sum + m, 0);
  }

  private result(): CoupledRun {
    const { record } = this;
    return {
      trace: this.engine.trace(),
      until: this.until,
      points: record.points,
      course: this.course.moments,
      courseEnds: this.course.isCut ? this.course.moments.at(-1)!.t : null,
      final: record.states(this.flow.contents),
      highest: record.states(record.extremes.high),
      lowest: record.states(record.extremes.low),
      overLimit: record.overLimit.map((point) => point && point.t),
      strokes: this.strokes,
      lines: Array.from(record.lines),
      energy: record.energy(),
      hottest: Array.from(record.hottest.subarray(0, this.model.network.chambers)),
      held: { start: this.held0, end: this.held() },
      units: this.budget.spent,
      left: this.left,
      closed: this.closed.all,
    };
  }
}
