/**
 * The repeating stroke: what one stroke moves when the chambers it starts from and goes to stand as asked about, and everything between
 * them (pockets, buffers between stages) has settled into repeating.
 *
 * Strokes are run from the stated state, the held chambers put back before each, until what the held chambers lose and gain agrees
 * and nothing between them changes any more. Pockets settle within a few strokes, a buffer may take hundreds: their way is cut short
 * by acceleration (anderson.ts). Where they do not settle, the answer says so.
 *
 * Two conditions make it a repeating stroke: the held chambers gain together what they lose (nothing is stored in between), and the gains are
 * those of the stroke before. The first alone could be met by chance, the second alone by a buffer that fills very slowly.
 *
 * Invariant: an answer depends on the rig, the program and the masses asked about, never on what was asked before: every question starts
 * from the same contents, results are kept by masses, and a kept one is charged what it once cost.
 */
import { WorkBudget } from '../model/budget';
import { finish, type Kept, kept, type Work } from '../work/work';
import { Anderson } from './anderson';
import { engineOf, levelOf, startContents, strokeWork } from './engine';
import { passedBy } from './passed';
import type { Program } from './program';
import type { FlowEngine, FlowModel, Level } from './rig-model';
import { momentsOfProgram, partsOfStep, pointOf, type CoursePoint } from './stroke-course';
import type { CutOff, DoorLoad, DoorWork, Trapped } from './watch';
import { doorLoad, doorWork, sumOf } from './watch';
import { whyLost } from './withheld';
import { say } from '../words/say';

/** What one repeating stroke of a program does to the chambers when they hold what was asked about. Per stroke. */
export interface StrokeResult {
  /** kg gained per chamber (negative: lost). */
  readonly gains: Float64Array;
  /** kg through each link of the network (`passedBy`); none as long as strokes do not repeat. */
  readonly passed: readonly (number | null)[];
  /** Work of the doors on the contents, J: what they do, and what they would get back. */
  readonly work: number;
  readonly back: number;
  /** The first of these of each door. */
  readonly done: Float64Array;
  readonly loads: DoorLoad;
  readonly trapped: readonly Trapped[];
  readonly cutOffs: readonly CutOff[];
  /** Highest temperature of each cell, K. */
  readonly hottest: Float64Array;
  readonly level: Level;
  /** Strokes that were run, and the units of work they took. */
  readonly run: number;
  readonly units: number;
  /** Pockets and floating chambers at its end: where a stroke from a state near by may begin. */
  readonly between: Float64Array;
  /** Why these figures are not those of a repeating stroke; null where they are. */
  readonly doubt: string | null;
}

/** One stroke as it was run. */
type Stroke = Omit<StrokeResult, 'units' | 'between'>;

/**
 * Gains and losses agree to this part of the mass moved; after `PATIENCE` strokes to the second, which the integration reaches even near
 * a ceiling, where little of what the pockets hold is moved on.
 */
const AGREE = 1e-6;
const AGREE_LATE = 1e-5;
const PATIENCE = 25;
/** Strokes run by themselves before their way is cut short, and at most in all. */
const PLAIN = 3;
const MOST: Readonly<Record<Level, number>> = { instant: 600, openings: 80 };
/** Change that is only the rounding of the sum of a chamber. */
const ROUNDING = 1e-13;

/**
 * Strokes of one program at states asked about one after the other. Each begins with the pockets as the first one left them, or as `from`
 * gives them, so that no answer depends on what else was asked.
 */
export class RepeatingStroke {
  private readonly model: FlowModel;
  private readonly engine: FlowEngine;
  /** Chambers that float: something between two chambers of the stroke. */
  private readonly floating: readonly number[];
  private first: Float64Array | null = null;
  private readonly known = new Map<string, StrokeResult>();
  private running: Kept<unknown> | null = null;
  /** What the cells held before the last stroke and after each of its steps. */
  private marks: readonly Float64Array[] = [];

  constructor(
    model: FlowModel,
    private readonly program: Program,
    /** Chambers that are held though they stand between two stages: that of the trigger. */
    held: readonly number[] = [],
  ) {
    this.model = { ...model, lines: [] };
    this.engine = engineOf(this.model, startContents(this.model, program.startVolumes));
    this.floating = between(model, program).filter((chamber) => !held.includes(chamber));
  }

  /** The stroke with the held chambers at `masses` kg each, at the temperatures they start with. */
  at(masses: readonly number[], budget?: WorkBudget, from?: Float64Array): StrokeResult {
    return finish(this.work(masses, budget, from));
  }

  /** The same in steps. */
  work(masses: readonly number[], budget = new WorkBudget(Infinity), from?: Float64Array): Work<StrokeResult> {
    return this.alone(() => this.asked(masses, budget, from ?? this.first));
  }

  /** Whether a chamber is left to settle between two stages, whatever mass is asked about. */
  floats(chamber: number): boolean {
    return this.floating.includes(chamber);
  }

  /** Moments at which a door starts or arrives, µs. */
  get moments(): readonly number[] {
    return momentsOfProgram(this.program);
  }

  /** The stroke that repeats at `masses` over time; null where strokes from there do not repeat, or the budget does not reach. */
  *course(masses: readonly number[], budget = new WorkBudget(Infinity)): Work<readonly CoursePoint[] | null> {
    const { doubt, between } = yield* this.work(masses, budget);
    return doubt === null ? yield* this.alone(() => this.followed(masses, between, budget)) : null;
  }

  /** All strokes share one engine: what was begun before is finished first, by whoever comes next. */
  private *alone<T>(question: () => Work<T>): Work<T> {
    while (this.running) yield* this.running.work();
    const own = kept(() => this.start(question));
    this.running = own;
    return yield* own.work();
  }

  /** One question; `running` is cleared however it ends. */
  private *start<T>(question: () => Work<T>): Work<T> {
    try {
      return yield* question();
    } finally {
      this.running = null;
    }
  }

  private *followed(
    masses: readonly number[],
    between: Float64Array,
    budget: WorkBudget,
  ): Work<readonly CoursePoint[] | null> {
    const { engine, program } = this;
    this.putBack(masses);
    this.setState(between);
    const shut = program.steps[0]?.notShut ?? [];
    const points = [pointOf(engine, 0, program.steps[0]?.before ?? program.startVolumes, null, shut)];
    for (const step of program.steps) {
      for (const part of partsOfStep(step)) {
        const isDone = engine.stepWork ? yield* engine.stepWork(part, { budget }) : engine.step(part, { budget });
        if (!isDone) return null;
        points.push(pointOf(engine, part.t, part.after, points.at(-1)!, part.notShut));
      }
      yield;
    }
    return points;
  }

  private *asked(masses: readonly number[], budget: WorkBudget, from: Float64Array | null): Work<StrokeResult> {
    const key = masses.join();
    const known = this.known.get(key);
    if (known) {
      // What is known costs what it cost, so that no budget depends on what was asked before.
      return budget.charge(known.units) ? known : { ...known, doubt: whyLost(budget) };
    }
    const contents = startContents({ ...this.model, start: masses }, this.program.startVolumes);
    this.engine.contents.mass.set(contents.mass);
    this.engine.contents.temperature.set(contents.temperature);
    // A start near the answer shortens the way; it changes the answer by less than the agreement asked for.
    if (from) this.setState(from);
    const before = budget.spent;
    const result = { ...(yield* this.repeat(masses, budget)), units: budget.spent - before, between: this.state() };
    // A result cut short by a budget is not kept: a larger budget must be able to do better.
    if (!budget.isSpent) this.known.set(key, result);
    if (result.doubt === null) this.first ??= result.between;
    return result;
  }

  /** Strokes until they repeat: plain ones first, then accelerated. */
  private *repeat(masses: readonly number[], budget: WorkBudget): Work<Stroke> {
    const anderson = new Anderson();
    const level = levelOf(this.model);
    let x = this.state();
    let best: Stroke | null = null;
    for (let run = 1; run <= MOST[level]; run++) {
      this.putBack(masses);
      const result = yield* this.once(masses, run, budget);
      if (result.doubt !== null && result.doubt !== REPEATS_NOT()) return result;
      const value = this.state();
      if (this.agrees(masses, result, best)) return this.settled(masses, result);
      best = result;
      // The first strokes settle what pockets held at the start; accelerating from there would extrapolate a transient.
      if (run <= PLAIN) {
        x = value;
        continue;
      }
      const guess = anderson.next(x, value);
      // An extrapolation may point to masses below zero or far away; then the plain iteration goes on, and the memory begins anew.
      const isPossible = guess.every((v, k) => v > 0.3 * value[k]! && v < 3 * value[k]! + 1e-300);
      if (!isPossible) anderson.reset();
      x = isPossible ? guess : value;
      this.setState(x);
    }
    // Not settled within `MOST` strokes: the last one, with its doubt.
    return best!;
  }

  /** A stroke that repeats: what lies within the agreement is nothing, and what passes each link is noted. */
  private settled(masses: readonly number[], result: Stroke): Stroke {
    const moved = result.gains.reduce((most, gain) => Math.max(most, Math.abs(gain)), 0);
    const isNothing = (gain: number, k: number): boolean =>
      this.floating.includes(k) || Math.abs(gain) <= Math.max(AGREE * moved, 100 * ROUNDING * masses[k]!);
    const gains = result.gains.map((gain, k) => (isNothing(gain, k) ? 0 : gain));
    return { ...result, gains, passed: passedBy(this.model, this.program, this.marks), doubt: null };
  }

  /** kg to which gains agree in a stroke that repeats. */
  private agreement(masses: readonly number[], { gains, level, run }: Stroke): number {
    const moved = gains.reduce((most, gain) => Math.max(most, Math.abs(gain)), 0);
    const part = level === 'openings' && run > PATIENCE ? AGREE_LATE : AGREE;
    return Math.max(part * moved, 100 * ROUNDING * Math.max(...masses));
  }

  /** Whether the held chambers gain what they lose, and nothing changed from the stroke before. */
  private agrees(masses: readonly number[], result: Stroke, before: Stroke | null): boolean {
    const { gains } = result;
    const enough = this.agreement(masses, result);
    const sum = gains.reduce((all, gain, k) => (this.floating.includes(k) ? all : all + gain), 0);
    if (Math.abs(sum) > enough || this.floating.some((k) => Math.abs(gains[k]!) > enough)) return false;
    return before !== null && gains.every((gain, k) => Math.abs(gain - before.gains[k]!) <= enough);
  }

  /** One stroke from the contents as they are, with everything that is noted of it. */
  private *once(masses: readonly number[], run: number, budget: WorkBudget): Work<Stroke> {
    const { program, engine, model } = this;
    const { doors, chambers } = model.network;
    const { mass } = engine.contents;
    const work: DoorWork = doorWork(doors);
    const loads = doorLoad(doors);
    const trapped: Trapped[] = [];
    const cutOffs: CutOff[] = [];
    const hottest = new Float64Array(chambers + doors);
    const marks = [mass.slice()];
    const each = (): void => void marks.push(mass.slice());
    const isFollowed = yield* strokeWork(engine, program, { work, loads, trapped, cutOffs, hottest, budget, each });
    const start = marks[0]!.subarray(0, chambers);
    this.marks = marks;
    const gains = Float64Array.from(start, (m, k) => beyondRounding(mass[k]! - m, masses[k]!) / program.strokes);
    return {
      gains,
      passed: [],
      work: sumOf(work.done) / program.strokes,
      back: sumOf(work.back) / program.strokes,
      done: work.done.map((joules) => joules / program.strokes),
      loads,
      trapped,
      cutOffs,
      hottest,
      level: levelOf(model),
      run,
      doubt: isFollowed ? REPEATS_NOT() : whyLost(budget),
    };
  }

  /** The held chambers as they were asked about: contents and temperature. */
  private putBack(masses: readonly number[]): void {
    const { mass, temperature } = this.engine.contents;
    masses.forEach((m, k) => {
      if (this.floating.includes(k)) return;
      mass[k] = m;
      temperature[k] = this.model.vessels[k]!.temperature;
    });
  }

  /** What may change from stroke to stroke: masses, and masses times temperatures, of pockets and floating chambers. */
  private state(): Float64Array {
    const { mass, temperature } = this.engine.contents;
    const cells = this.free();
    // Mass times temperature and not temperature: both are then sums that mixing leaves linear, which is what acceleration extrapolates.
    return Float64Array.from([...cells.map((c) => mass[c]!), ...cells.map((c) => mass[c]! * temperature[c]!)]);
  }

  /** The inverse of `state`. */
  private setState(x: Float64Array): void {
    const { mass, temperature } = this.engine.contents;
    const cells = this.free();
    cells.forEach((cell, k) => {
      mass[cell] = x[k]!;
      if (x[k]! > 0 && !this.isIsothermal) temperature[cell] = x[cells.length + k]! / x[k]!;
    });
  }

  private get isIsothermal(): boolean {
    const { law } = this.model;
    return law.phase !== 'gas' || law.exponent === 1;
  }

  /** Cells whose contents are the unknowns: floating chambers, then all pockets. */
  private free(): number[] {
    const { chambers, doors } = this.model.network;
    return [...this.floating, ...Array.from({ length: doors }, (_, door) => chambers + door)];
  }
}

const REPEATS_NOT = (): string => say`strokes from this state never settle into a repeating one`;

/** Chambers with moving doors on both sides: what a stage brings to them, the next one takes. */
function between({ network }: FlowModel, program: Program): number[] {
  const moves = (cell: number): boolean =>
    cell >= network.chambers &&
    program.steps.some(({ from, to }) => from[cell - network.chambers] !== to[cell - network.chambers]);
  const fed = new Set(network.links.filter(({ a, b }) => b < network.chambers && moves(a)).map(({ b }) => b));
  return [...new Set(network.links.filter(({ a, b }) => a < network.chambers && moves(b)).map(({ a }) => a))].filter(
    (chamber) => fed.has(chamber),
  );
}

/** One repeating stroke with all feeds and draws off, in steps. `masses` in kg, one per chamber. */
export const strokeFrom = (
  model: FlowModel,
  program: Program,
  masses: readonly number[],
  held: readonly number[] = [],
  budget?: WorkBudget,
): Work<StrokeResult> => new RepeatingStroke(model, program, held).work(masses, budget);

/** What is only the rounding of a sum of masses is nothing. */
const beyondRounding = (change: number, of: number): number => (Math.abs(change) <= ROUNDING * of ? 0 : change);
