/**
 * Follows a rig stroke by stroke at the balance level: fast enough for every keystroke. Sensors are looked at between strokes, the
 * control network by its modes (modes.ts). See `Filling` for what is exact and what is not.
 */
import type { Contents } from '../flow/contents';
import type { DoorPower } from '../flow/door-energy';
import { doorSeconds } from '../flow/door-energy';
import { engineOf, levelOf, startContents, strokeWork } from '../flow/engine';
import type { Filling, WorkingPoint } from '../flow/facts';
import { rateNow, stopMass } from '../flow/lines';
import { joinedChambers } from '../flow/cells';
import type { StrokePattern } from '../flow/pattern';
import type { Program, Step } from '../flow/program';
import { compileStroke, StepBuilder } from '../flow/program';
import type { FlowEngine, FlowModel, Level } from '../flow/rig-model';
import type { Law } from '../flow/media/law';
import { fullMass, massAt, type Vessel } from '../flow/vessel';
import type { Extremes, StrokeWatch } from '../flow/watch';
import { whyLost } from '../flow/withheld';
import type { WorkBudget } from '../model/budget';
import type { Rig } from '../model/rig';
import type { Work } from '../work/work';
import { ComeBack } from './come-back';
import type { Mode, Modes } from './modes';
import { positionsAtStart } from './doors-at-start';
import { type Mark, Recorder } from './record';
import { changeMass, sensorValue, startSensors } from './sensing';
import { noPattern } from './flow-detail';

export interface FillingOptions {
  /** Strokes and seconds after which it ends anyway. */
  readonly strokes?: number;
  readonly seconds?: number;
  /** Ends when this says so, asked after each stroke and each wait of the extremes that the chambers have seen so far. */
  readonly target?: (seen: Extremes) => boolean;
  /** Contents of the chambers instead of those at the start, kg. */
  readonly start?: readonly number[];
  /** Feeds and draws off. */
  readonly linesOff?: boolean;
  /** Where it is used up the run ends there, and says so. */
  readonly budget?: WorkBudget;
}

interface Prepared {
  readonly program: Program;
  readonly pattern: StrokePattern;
  /** Seconds that each door moves and is held away from rest. */
  readonly doors: readonly { readonly moving: number; readonly held: number }[];
}

const STROKES = 10_000;
const SECONDS = 30 * 86_400;
/** Relative change per stroke that is none: through openings, what the tolerance of the integration makes. */
const EVEN: Readonly<Record<Level, number>> = { instant: 1e-9, openings: 1e-7 };
/**
 * Tolerance of one step of the integration: masses of a run are then off by some 2e-5 (samples against 1e-7), less than its figures show.
 */
const FOLLOWED = 1e-5;
/** Relative change still to come below which the rig counts as steady, and for how many strokes it must stay there. */
const STEADY = 1e-4;
const CALM = 5;
/** Times its limit at which a chamber counts as overfull: the rig has no stop, and what follows says nothing. */
const OVERFULL = 2;
/** Strokes without a new highest or lowest state, as many again as went before, after which it counts as going round. */
const ROUND = 200;
/** Relative change of the spread between highest and lowest that counts as new. */
const NOTABLE = 1e-4;
/** Seconds: stretches in which a standing rig is followed whose chambers are joined, and one in which nothing must change for it to be still. */
const FIRST_STRETCH = 0.1;
const LONGEST_STRETCH = 3600;
const STILL_STRETCH = 60;
/** Seconds to which the moment of a sensor is found there. */
const INSTANT = 1e-4;
/** Share of the starting mass that counts as empty: a pump approaches empty without reaching it. */
const VOID = 1e-6;
/** Waits, or repeats of a pattern in which no door opens, after which a run is followed no further. */
const IDLE_REPEATS = 20_000;

/** Points kept; a longer filling is thinned. */
const POINTS = 400;

export class FillingRun {
  private readonly engine: FlowEngine;
  private readonly record: Recorder;
  private readonly prepared = new Map<StrokePattern, Prepared>();
  /** What the control network last received, and what the sensors show now. */
  private sensors: boolean[];
  private readonly sensed: boolean[];
  /** What it was given before that; null where it has just woken. */
  private before: readonly boolean[] | null = null;
  private readonly watch: StrokeWatch;
  /** Doors as the last stroke left them: what waits look like. */
  private rest: StepBuilder;
  private t = 0;
  private strokes = 0;
  private firstStroke: number | null = null;
  /** Sum of the extremes, and the stroke at which it last changed. */
  private extremeSum = 0;
  private extremeStroke = 0;
  private readonly comeBack = new ComeBack();
  /** Where the period began that has come round; null as long as none has. */
  private period: Mark | null = null;
  private stride = 1;
  private sinceKept = 0;
  /** Chambers that feeds go on filling once nothing else changes. */
  private rising: number[] = [];
  private readonly model: FlowModel;
  private readonly even: number;
  private readonly most: readonly number[];
  /** Mass of each chamber that is as good as none. */
  private readonly nothing: readonly number[];

  constructor(
    private readonly rig: Rig,
    model: FlowModel,
    private readonly modes: Modes,
    private readonly powers: readonly DoorPower[],
    private readonly options: FillingOptions = {},
  ) {
    this.model = { ...model, start: options.start ?? model.start, lines: options.linesOff ? [] : model.lines };
    this.sensors = startSensors(rig, this.model);
    this.rest = new StepBuilder(model.network, positionsAtStart(rig));
    this.engine = engineOf(this.model, startContents(this.model, this.rest.volumes), { relative: FOLLOWED });
    this.even = EVEN[levelOf(this.model)];
    this.record = new Recorder(rig, this.model, this.contents);
    const { extremes, work, lines, hottest, trapped } = this.record;
    this.sensed = [...this.sensors];
    this.watch = { extremes, work, lines, hottest, trapped, budget: options.budget, each: () => this.sense() };
    this.most = rig.chambers.map(({ limit }, k) => {
      const vessel = model.vessels[k]!;
      const value = OVERFULL * (limit?.value.nominal ?? 0);
      return (limit ? massAt(model.law, vessel, limit.kind, value, vessel.temperature) : null) ?? Infinity;
    });
    this.nothing = model.vessels.map(
      (vessel, k) => VOID * Math.max(this.model.start[k]!, plainMass(model.law, vessel)),
    );
    this.keep(true);
  }

  private get contents(): Contents {
    return this.engine.contents;
  }

  /** The whole run, in steps; once. */
  *run(): Work<Filling> {
    return this.result(yield* this.follow());
  }

  private *follow(): Work<Filling['ended']> {
    const { strokes = STROKES, seconds = SECONDS } = this.options;
    if (this.options.target?.(this.record.extremes)) return 'target';
    let waits = 0;
    while (this.strokes < strokes && this.t < seconds * 1e6) {
      if (this.isOutside()) return 'left';
      const mode = this.modes(this.sensors, this.before);
      if (!mode.known) {
        this.left ??= noPattern();
        return 'left';
      }
      if (mode.first) {
        yield* this.stroke(mode.first);
        if (this.options.target?.(this.record.extremes)) return 'target';
        if (this.look()) {
          if (this.hasComeBack(mode.first)) return 'round';
          continue;
        }
      }
      if (mode.cycle) {
        const ended = yield* this.cycle(mode.cycle, strokes, seconds);
        if (ended) return ended;
        continue;
      }
      const wait = yield* this.wait(mode);
      if (wait !== 'changed') return wait === 'stopped' && this.strokes === 0 && !mode.first ? 'never' : wait;
      if (++waits > IDLE_REPEATS) return 'budget';
    }
    return 'budget';
  }

  /** Repeats the pattern until a sensor changes (null) or it ends. */
  private *cycle(pattern: StrokePattern, strokes: number, seconds: number): Work<Filling['ended'] | null> {
    const { mass } = this.contents;
    const chambers = this.model.network.chambers;
    const before = new Float64Array(chambers);
    let calm = 0;
    let last = Infinity;
    for (let repeats = 0; this.strokes < strokes && this.t < seconds * 1e6; repeats++) {
      // A pattern in which no door opens counts no strokes.
      if (pattern.strokes === 0 && repeats > IDLE_REPEATS) return 'budget';
      before.set(mass.subarray(0, chambers));
      yield* this.stroke(pattern);
      if (this.options.target?.(this.record.extremes)) return 'target';
      if (this.isOutside()) return 'left';
      if (this.overfull()) return 'overfull';
      if (this.goesRound()) return 'round';
      if (this.look()) return this.hasComeBack(pattern) ? 'round' : null;
      let change = 0;
      for (let k = 0; k < chambers; k++)
        change = Math.max(change, Math.abs(mass[k]! - before[k]!) / Math.max(mass[k]!, 1e-12));
      // What is still to come, if it goes on shrinking as it does.
      const ratio = change / last;
      const left = change < this.even ? 0 : ratio < 1 ? (change * ratio) / (1 - ratio) : Infinity;
      last = change;
      calm = left < STEADY ? calm + 1 : 0;
      if (calm >= CALM) return 'steady';
    }
    return 'budget';
  }

  /** Whether sensors that have just changed at the end of a stroke did so before with the same contents: one period is the working point. */
  private hasComeBack(pattern: StrokePattern): boolean {
    if (this.options.target) return false;
    const change = { pattern, before: this.before ?? [], sensors: this.sensors };
    this.period = this.comeBack.since(change, this.contents, this.record.now(this.t, this.strokes));
    return this.period !== null;
  }

  private goesRound(): boolean {
    const { high, low } = this.record.extremes;
    const pressing = (k: number, at: Contents): number => at.mass[k]! * at.temperature[k]!;
    const sum = high.mass.reduce((all, _, k) => all + pressing(k, high) - pressing(k, low), 0);
    if (Math.abs(sum - this.extremeSum) > NOTABLE * Math.abs(sum)) {
      this.extremeSum = sum;
      this.extremeStroke = this.strokes;
    }
    if (this.options.target || this.strokes - this.extremeStroke <= Math.max(ROUND, this.extremeStroke)) return false;
    return !this.record.drifts(this.extremeStroke);
  }

  /** Whether the last stroke has gone where the law or the material ends; says so in `left`. */
  private isOutside(): boolean {
    this.left ??= this.record.beyond();
    return this.left !== null;
  }

  private left: string | null = null;

  private overfull(): boolean {
    const { mass } = this.contents;
    return this.model.vessels.some((_, k) => mass[k]! > this.most[k]!);
  }

  private *stroke(pattern: StrokePattern): Work<void> {
    const { program, doors } = this.prepare(pattern);
    if (!(yield* strokeWork(this.engine, program, this.watch))) this.left = whyLost(this.options.budget);
    if (pattern.strokes > 0) this.firstStroke ??= this.t;
    this.t += pattern.duration;
    this.strokes += pattern.strokes;
    doors.forEach((seconds, door) => this.record.countDoor(door, this.powers[door]!, seconds));
    this.record.countLines((line) => lineSeconds(pattern, line));
    this.record.mark(this.t, this.strokes);
    const last = program.steps[program.steps.length - 1];
    if (last) this.rest = new StepBuilder(this.model.network, last.to);
    this.keep(false);
  }

  private prepare(pattern: StrokePattern): Prepared {
    let prepared = this.prepared.get(pattern);
    if (!prepared) {
      const doors = pattern.doors.map((path, door) => doorSeconds(path, this.powers[door]!.rest, pattern.duration));
      prepared = { program: compileStroke(this.model.network, pattern), pattern, doors };
      this.prepared.set(pattern, prepared);
    }
    return prepared;
  }

  /** Takes what the sensors show after each step of a stroke: a dip of the pressure while pockets fill may clear one. */
  private sense(): void {
    const { sensors } = this.rig;
    for (let k = 0; k < sensors.length; k++) {
      this.sensed[k] = sensorValue(this.model, sensors[k]!, this.sensed[k]!, this.contents);
    }
  }

  /** Looks at the sensors; true where one changed since the last look. */
  private look(): boolean {
    this.sense();
    if (this.sensed.every((value, k) => value === this.sensors[k])) return false;
    this.before = this.sensors;
    this.sensors = [...this.sensed];
    return true;
  }

  /** All doors still: feeds and draws run until a sensor changes. */
  private *wait(mode: Mode): Work<'changed' | 'stopped' | 'steady' | 'target' | 'budget'> {
    if (this.flowsAtRest()) return yield* this.waitFlowing(mode);
    const lines = this.model.lines;
    const { seconds = SECONDS } = this.options;
    const { mass } = this.contents;
    for (let round = 0; round < 200; round++) {
      const before = mass.slice(0, this.model.network.chambers);
      const rates = this.restRates(mode);
      const step = this.nextChange(mode, rates);
      if (step === null) {
        this.rising = [...rates.keys()].filter((k) => rates[k]! > 0);
        return 'stopped';
      }
      const left = seconds - this.t / 1e6;
      const span = Math.min(step, left);
      const on = lines.map((_, k) => (mode.linesAtRest[k] ? span : 0));
      this.runLines(span, on);
      yield;
      this.t += Math.round(span * 1e6);
      this.record.countLines((line) => on[line]!);
      this.keep(true);
      if (this.options.target?.(this.record.extremes)) return 'target';
      if (this.look()) return 'changed';
      if (span >= left) return 'budget';
      if (before.every((m, k) => Math.abs(m - mass[k]!) <= 1e-12 * m || this.isEmptied(k, rates))) return 'stopped';
    }
    return 'budget';
  }

  /** As good as empty, and with nothing that fills it. */
  private isEmptied(chamber: number, rates: Float64Array): boolean {
    return this.contents.mass[chamber]! < this.nothing[chamber]! && rates[chamber]! <= 0;
  }

  /** Whether gas flows from chamber to chamber while no door moves. */
  private flowsAtRest(): boolean {
    return this.model.leaks !== undefined || joinedChambers(this.model.network, this.rest.notShut) !== null;
  }

  /** All doors still, but chambers joined: followed in stretches that grow, cut short where a sensor changes. */
  private *waitFlowing(mode: Mode): Work<'changed' | 'stopped' | 'target' | 'budget'> {
    const { seconds = SECONDS } = this.options;
    const { mass } = this.contents;
    let span = FIRST_STRETCH;
    while (this.t < seconds * 1e6) {
      const before = mass.slice(0, this.model.network.chambers);
      span = this.upToChange(mode, Math.min(span, seconds - this.t / 1e6));
      this.stretch(mode, span);
      if (this.options.target?.(this.record.extremes)) return 'target';
      if (this.look()) return 'changed';
      if (this.isOutside()) return 'budget';
      const change = before.reduce((most, m, k) => Math.max(most, Math.abs(mass[k]! - m) / Math.max(m, 1e-12)), 0);
      if (span >= STILL_STRETCH && change < EVEN.instant) return 'stopped';
      span = Math.min(LONGEST_STRETCH, span * 1.25);
      yield;
    }
    return 'budget';
  }

  private stretch(mode: Mode, span: number): void {
    const on = this.model.lines.map((_, k) => (mode.linesAtRest[k] ? span : 0));
    this.runLines(span, on);
    this.t += Math.round(span * 1e6);
    this.record.countLines((line) => on[line]!);
    this.keep(true);
  }

  /** The longest part of `span`, s, halved again and again, in which no sensor changes, or hardly more than an instant. */
  private upToChange(mode: Mode, span: number): number {
    const { contents, options } = this;
    const [mass, temperature] = [contents.mass.slice(), contents.temperature.slice()];
    let part = span;
    for (; part > INSTANT; part /= 2) {
      const seconds = this.model.lines.map((_, k) => (mode.linesAtRest[k] ? part : 0));
      this.engine.step(this.rest.stretch(0, part, this.rest.positions, seconds), { budget: options.budget });
      const changes = this.rig.sensors.some(
        (sensor, k) => sensorValue(this.model, sensor, this.sensed[k]!, contents) !== this.sensed[k],
      );
      contents.mass.set(mass);
      contents.temperature.set(temperature);
      if (!changes) break;
    }
    return part;
  }

  private runLines(span: number, seconds: readonly number[]): void {
    const { extremes, lines, hottest } = this.record;
    const step: Step = this.rest.stretch(0, span, this.rest.positions, seconds);
    const { budget } = this.options;
    if (!this.engine.step(step, { extremes, lines, hottest, budget })) this.left = whyLost(budget);
  }

  /** kg/s that each chamber gains while all doors are still. */
  private restRates(mode: Mode): Float64Array {
    const { law, vessels, lines } = this.model;
    const { mass, temperature } = this.contents;
    const rates = new Float64Array(vessels.length);
    lines.forEach((line, k) => {
      const { chamber } = line;
      if (!mode.linesAtRest[k] || !vessels[chamber] || (line.rate <= 0 && !line.rateAt)) return;
      const stop = stopMass(line, law, vessels[chamber], temperature[chamber]!);
      const held = stop !== null && (line.only!.side === 'above' ? mass[chamber]! <= stop : mass[chamber]! >= stop);
      if (!held && !(line.sign < 0 && mass[chamber]! <= 0))
        rates[chamber]! += line.sign * rateNow(line, mass[chamber]!, temperature[chamber]!);
    });
    return rates;
  }

  /** Seconds until a sensor or the condition of a line changes, a limit is passed or a chamber is empty; null where none ever is. */
  private nextChange(mode: Mode, rates: Float64Array): number | null {
    const { mass } = this.contents;
    let soonest: number | null = null;
    for (const [chamber, at] of this.marks(mode)) {
      const rate = rates[chamber]!;
      // What fills is never empty again.
      if (rate === 0 || (at <= 0 && rate > 0)) continue;
      // A little beyond, so that the threshold is passed and not just met.
      const seconds = (at - mass[chamber]!) / rate + 1e-6;
      if (seconds > 1e-9 && (soonest === null || seconds < soonest)) soonest = seconds;
    }
    return soonest;
  }

  /** Masses of chambers at which something changes while all doors are still. */
  private marks(mode: Mode): [chamber: number, mass: number][] {
    const { law, vessels, lines } = this.model;
    const { temperature } = this.contents;
    const marks: [number, number][] = vessels.map((_, k) => [k, 0]);
    const put = (chamber: number, mass: number | null): void => void (mass !== null && marks.push([chamber, mass]));
    lines.forEach((line, k) => {
      const vessel = vessels[line.chamber];
      if (mode.linesAtRest[k] && vessel) put(line.chamber, stopMass(line, law, vessel, temperature[line.chamber]!));
    });
    this.rig.sensors.forEach((sensor, k) =>
      put(sensor.chamber, changeMass(this.model, sensor, this.sensors[k]!, temperature[sensor.chamber] ?? 0)),
    );
    this.rig.chambers.forEach(({ limit, pressure }, k) => {
      const above = limit && limit.value.nominal * (1 + 1e-6);
      if (above !== null) put(k, massAt(law, vessels[k]!, limit!.kind, above, temperature[k]!));
      // An open chamber of a liquid that goes on being fed is followed until it is over its rim.
      const rim = law.phase === 'liquid' && !pressure ? fullMass(law, vessels[k]!) : 0;
      if (rim > 0 && Number.isFinite(rim)) put(k, rim * (1 + 2e-6));
    });
    return marks;
  }

  private keep(always: boolean): void {
    this.record.look(this.t, this.strokes);
    if (!always && ++this.sinceKept < this.stride) return;
    this.sinceKept = 0;
    this.record.keep(this.t, this.strokes);
    if (this.record.points.length < 2 * POINTS) return;
    this.record.thin();
    this.stride *= 2;
  }

  /** Means over the last strokes: those that are all alike, or those since nothing new has come. */
  private working(ended: Filling['ended']): WorkingPoint | null {
    const { record, t, strokes } = this;
    if (ended !== 'steady' && ended !== 'round') return null;
    return record.since(
      this.period ?? record.markAt(ended === 'steady' ? strokes - CALM : this.extremeStroke),
      t,
      strokes,
    );
  }

  private result(ended: Filling['ended']): Filling {
    this.sinceKept = this.stride;
    this.keep(true);
    const { record } = this;
    return {
      points: record.points,
      strokes: this.strokes,
      seconds: this.t / 1e6,
      firstStroke: this.firstStroke,
      ended,
      highest: record.states(record.extremes.high),
      lowest: record.states(record.extremes.low),
      overLimit: record.overLimit,
      milestones: record.milestones,
      rising: this.rising,
      working: this.working(ended),
      left: this.left,
      lines: Array.from(record.lines),
      energy: record.energy(),
      hottest: Array.from(record.hottest.subarray(0, this.model.network.chambers)),
    };
  }
}

/** Mass of a vessel full of liquid, or of gas at 1 bar; of a packed medium none is plain. */
function plainMass(law: Law, vessel: Vessel): number {
  if (law.phase === 'packed') return 0;
  return law.phase === 'gas' ? law.density(1e5, vessel.temperature) * vessel.volume : fullMass(law, vessel);
}

function lineSeconds(pattern: StrokePattern, line: number): number {
  return (pattern.lines[line] ?? []).reduce((sum, [from, to]) => sum + (to - from), 0) / 1e6;
}
