/**
 * Follows a rig stroke by stroke at the balance level: fast enough for every keystroke. Sensors are looked at between strokes, the
 * control network by its modes (modes.ts). See `Filling` for what is exact and what is not.
 */
import type { FlowModel, StrokeWatch } from '../flow/balance';
import { Balance, extremesOf, startContents } from '../flow/balance';
import type { DoorPower } from '../flow/door-energy';
import { doorEnergy } from '../flow/door-energy';
import type { ChamberState, Filling, FillPoint, Milestone } from '../flow/facts';
import type { StrokePattern } from '../flow/pattern';
import type { Program } from '../flow/program';
import { compileStroke } from '../flow/program';
import { doubtAt, stateOf } from '../flow/states';
import { stopMass } from '../flow/lines';
import { fullMass, massAt, reading } from '../flow/vessel';
import type { Rig } from '../model/rig';
import type { Mode } from './modes';
import { changeMass, sensorValue, startSensors } from './sensing';

export interface FillingOptions {
  /** Strokes and seconds after which it ends anyway. */
  readonly strokes?: number;
  readonly seconds?: number;
  /** Ends when this says so, asked after each stroke and each wait. */
  readonly target?: (contents: { mass: Float64Array; temperature: Float64Array }) => boolean;
  /** Contents of the chambers instead of those at the start, kg. */
  readonly start?: readonly number[];
  /** Feeds and draws off. */
  readonly linesOff?: boolean;
}

interface Prepared {
  readonly program: Program;
  readonly pattern: StrokePattern;
  readonly doorEnergy: number;
}

const STROKES = 10_000;
const SECONDS = 30 * 86_400;
/** Relative change per stroke that is none. */
const EVEN = 1e-9;
/** Relative change still to come below which the rig counts as steady, and for how many strokes it must stay there. */
const STEADY = 1e-4;
const CALM = 5;
/** Times its limit at which a chamber counts as overfull: the rig has no stop, and what follows says nothing. */
const OVERFULL = 2;
/** Strokes without a new highest or lowest state, as many again as went before, after which it counts as going round. */
const ROUND = 200;
/** Relative change of the spread between highest and lowest that counts as new. */
const NOTABLE = 1e-4;
/** Points kept; a longer filling is thinned. */
const POINTS = 400;

export class FillingRun {
  private readonly balance: Balance;
  private readonly extremes;
  private readonly work = new Float64Array(1);
  private readonly lineMass: Float64Array;
  private readonly prepared = new Map<StrokePattern, Prepared>();
  /** What the control network was last told, and what the sensors show now. */
  private sensors: boolean[];
  private readonly sensed: boolean[];
  private readonly watch: StrokeWatch;
  private t = 0;
  private strokes = 0;
  private firstStroke: number | null = null;
  /** Sum of the extremes, and the stroke at which it last changed. */
  private extremeSum = 0;
  private extremeStroke = 0;
  private energy = 0;
  private readonly points: FillPoint[] = [];
  private stride = 1;
  private sinceKept = 0;
  private readonly overLimit: (FillPoint | null)[];
  private readonly milestones: Milestone[];
  /** Chambers that feeds go on filling once nothing else changes. */
  private rising: number[] = [];
  private readonly model: FlowModel;
  private readonly most: readonly number[];
  private readonly full: readonly number[];

  constructor(
    private readonly rig: Rig,
    model: FlowModel,
    private readonly modes: (sensors: readonly boolean[]) => Mode,
    private readonly powers: readonly DoorPower[],
    private readonly options: FillingOptions = {},
  ) {
    this.model = { ...model, start: options.start ?? model.start, lines: options.linesOff ? [] : model.lines };
    const { network } = model;
    const atRest = rig.doors.map((door, d) => (door.rest === 'open' ? network.open[d]! : network.shut[d]!));
    this.balance = new Balance(
      this.model,
      startContents(this.model, Float64Array.from([...network.volume, ...atRest])),
    );
    this.extremes = extremesOf(this.balance.contents, model.network.chambers);
    this.lineMass = new Float64Array(model.lines.length);
    this.sensors = startSensors(rig, this.model);
    this.sensed = [...this.sensors];
    this.watch = { extremes: this.extremes, work: this.work, lines: this.lineMass, each: () => this.sense() };
    this.overLimit = rig.chambers.map(() => null);
    this.milestones = milestonesOf(rig);
    this.most = rig.chambers.map(({ limit }, k) => {
      const most = limit
        ? massAt(
            model.law,
            model.vessels[k]!,
            limit.kind,
            OVERFULL * limit.value.nominal,
            model.vessels[k]!.temperature,
          )
        : null;
      return most ?? Infinity;
    });
    const { law } = model;
    this.full = model.vessels.map((vessel) => (law.phase === 'liquid' ? fullMass(law, vessel) : Infinity));
    this.keep(true);
  }

  run(): Filling {
    return this.result(this.follow());
  }

  private follow(): Filling['ended'] {
    const { strokes = STROKES, seconds = SECONDS } = this.options;
    const contents = this.balance.contents;
    if (this.options.target?.(contents)) return 'target';
    let waits = 0;
    while (this.strokes < strokes && this.t < seconds * 1e6) {
      const mode = this.modes(this.sensors);
      if (!mode.known) return this.strokes > 0 ? 'stopped' : 'never';
      if (mode.first) {
        this.stroke(mode.first);
        if (this.options.target?.(contents)) return 'target';
        if (this.look()) continue;
      }
      if (mode.cycle) {
        const ended = this.cycle(mode.cycle, strokes, seconds);
        if (ended) return ended;
        continue;
      }
      const wait = this.wait(mode);
      if (wait !== 'changed') return wait === 'stopped' && this.strokes === 0 && !mode.first ? 'never' : wait;
      if (++waits > 20_000) return 'budget';
    }
    return 'budget';
  }

  /** Repeats the pattern until a sensor changes (null) or it ends. */
  private cycle(pattern: StrokePattern, strokes: number, seconds: number): Filling['ended'] | null {
    const { mass } = this.balance.contents;
    const chambers = this.model.network.chambers;
    const before = new Float64Array(chambers);
    let calm = 0;
    let last = Infinity;
    while (this.strokes < strokes && this.t < seconds * 1e6) {
      before.set(mass.subarray(0, chambers));
      this.stroke(pattern);
      if (this.options.target?.(this.balance.contents)) return 'target';
      if (this.overfull()) return 'overfull';
      if (this.goesRound()) return 'round';
      if (this.look()) return null;
      let change = 0;
      for (let k = 0; k < chambers; k++)
        change = Math.max(change, Math.abs(mass[k]! - before[k]!) / Math.max(mass[k]!, 1e-12));
      // What is still to come, if it goes on shrinking as it does.
      const ratio = change / last;
      const left = change < EVEN ? 0 : ratio < 1 ? (change * ratio) / (1 - ratio) : Infinity;
      last = change;
      calm = left < STEADY ? calm + 1 : 0;
      if (calm >= CALM) return 'steady';
    }
    return 'budget';
  }

  private goesRound(): boolean {
    const { high, low } = this.extremes;
    let sum = 0;
    for (let k = 0; k < high.mass.length; k++) {
      sum += high.mass[k]! * high.temperature[k]! - low.mass[k]! * low.temperature[k]!;
    }
    if (Math.abs(sum - this.extremeSum) > NOTABLE * Math.abs(sum)) {
      this.extremeSum = sum;
      this.extremeStroke = this.strokes;
    }
    return this.strokes - this.extremeStroke > Math.max(ROUND, this.extremeStroke) && !this.options.target;
  }

  private overfull(): boolean {
    const { mass, temperature } = this.balance.contents;
    return this.model.vessels.some((_, k) => {
      if (mass[k]! > this.most[k]!) return true;
      return (
        this.model.law.phase === 'liquid' &&
        mass[k]! > this.full[k]! &&
        beyondLaw(this.model, k, mass[k]!, temperature[k]!)
      );
    });
  }

  private stroke(pattern: StrokePattern): void {
    const { program, doorEnergy: joules } = this.prepare(pattern);
    this.balance.stroke(program, this.watch);
    if (pattern.strokes > 0) this.firstStroke ??= this.t;
    this.t += pattern.duration;
    this.strokes += pattern.strokes;
    this.energy += joules + this.linePower(program.seconds, (line) => lineSeconds(pattern, line));
    this.keep(false);
  }

  private prepare(pattern: StrokePattern): Prepared {
    let prepared = this.prepared.get(pattern);
    if (!prepared) {
      const doors = doorEnergy(pattern, this.powers);
      prepared = {
        program: compileStroke(this.model.network, pattern),
        pattern,
        doorEnergy: doors.moving + doors.holding,
      };
      this.prepared.set(pattern, prepared);
    }
    return prepared;
  }

  private linePower(_seconds: number, on: (line: number) => number): number {
    let sum = 0;
    this.model.lines.forEach((line, k) => (sum += line.power * on(k)));
    return sum;
  }

  /** Takes what the sensors show after each step of a stroke: a dip of the pressure while pockets fill may clear one. */
  private sense(): void {
    const { sensors } = this.rig;
    for (let k = 0; k < sensors.length; k++) {
      this.sensed[k] = sensorValue(this.model, sensors[k]!, this.sensed[k]!, this.balance.contents);
    }
  }

  /** Looks at the sensors; true where one changed since the last look. */
  private look(): boolean {
    this.sense();
    if (this.sensed.every((value, k) => value === this.sensors[k])) return false;
    this.sensors = [...this.sensed];
    return true;
  }

  /** All doors still: feeds and draws run until a sensor changes. */
  private wait(mode: Mode): 'changed' | 'stopped' | 'steady' | 'target' | 'budget' {
    const lines = this.model.lines;
    const { seconds = SECONDS } = this.options;
    const { mass } = this.balance.contents;
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
      this.runLines(on);
      this.t += Math.round(span * 1e6);
      this.energy += this.linePower(span, (k) => on[k]!);
      this.keep(true);
      if (this.options.target?.(this.balance.contents)) return 'target';
      if (this.look()) return 'changed';
      if (span >= left) return 'budget';
      if (before.every((m, k) => Math.abs(m - mass[k]!) <= 1e-12 * m)) return 'stopped';
    }
    return 'budget';
  }

  private runLines(seconds: readonly number[]): void {
    // `idle` runs all lines for one time; a step without groups runs each for its own.
    const step = {
      t: 0,
      span: Math.max(...seconds, 1e-9),
      lineSeconds: seconds,
      groups: [],
      moves: [],
      labels: new Int32Array(0),
    };
    this.balance.step(step, { extremes: this.extremes, lines: this.lineMass });
  }

  /** kg/s that each chamber gains while all doors are still. */
  private restRates(mode: Mode): Float64Array {
    const { law, vessels, lines } = this.model;
    const { mass, temperature } = this.balance.contents;
    const rates = new Float64Array(vessels.length);
    lines.forEach((line, k) => {
      const { chamber } = line;
      if (!mode.linesAtRest[k] || !vessels[chamber] || line.rate <= 0) return;
      const stop = stopMass(line, law, vessels[chamber], temperature[chamber]!);
      const held = stop !== null && (line.only!.side === 'above' ? mass[chamber]! <= stop : mass[chamber]! >= stop);
      if (!held && !(line.sign < 0 && mass[chamber]! <= 0)) rates[chamber]! += line.sign * line.rate;
    });
    return rates;
  }

  /** Seconds until a sensor or the condition of a line changes, a limit is passed or a chamber is empty; null where none ever is. */
  private nextChange(mode: Mode, rates: Float64Array): number | null {
    const { mass } = this.balance.contents;
    let soonest: number | null = null;
    for (const [chamber, at] of this.marks(mode)) {
      const rate = rates[chamber]!;
      // A little beyond, so that the threshold is passed and not just met.
      const seconds = rate === 0 ? -1 : (at - mass[chamber]!) / rate + 1e-6;
      if (seconds > 1e-9 && (soonest === null || seconds < soonest)) soonest = seconds;
    }
    return soonest;
  }

  /** Masses of chambers at which something changes while all doors are still. */
  private marks(mode: Mode): [chamber: number, mass: number][] {
    const { law, vessels, lines } = this.model;
    const { temperature } = this.balance.contents;
    const marks: [number, number][] = vessels.map((_, k) => [k, 0]);
    const put = (chamber: number, mass: number | null): void => void (mass !== null && marks.push([chamber, mass]));
    lines.forEach((line, k) => {
      const vessel = vessels[line.chamber];
      if (mode.linesAtRest[k] && vessel) put(line.chamber, stopMass(line, law, vessel, temperature[line.chamber]!));
    });
    this.rig.sensors.forEach((sensor, k) =>
      put(sensor.chamber, changeMass(this.model, sensor, this.sensors[k]!, temperature[sensor.chamber] ?? 0)),
    );
    this.rig.chambers.forEach(({ limit }, k) => {
      const above = limit && limit.value.nominal * (1 + 1e-6);
      if (above !== null) put(k, massAt(law, vessels[k]!, limit!.kind, above, temperature[k]!));
    });
    return marks;
  }

  private keep(always: boolean): void {
    const { mass, temperature } = this.balance.contents;
    const chambers = this.model.network.chambers;
    const point = (): FillPoint => ({
      t: this.t,
      strokes: this.strokes,
      mass: Array.from(mass.subarray(0, chambers)),
      temperature: Array.from(temperature.subarray(0, chambers)),
    });
    // What is reached within a stroke counts: a draw may have lowered it again by its end.
    const { high } = this.extremes;
    this.milestones.forEach((milestone, i) => {
      const { chamber, kind, value, reached } = milestone;
      if (reached) return;
      const at = reading(
        this.model.law,
        this.model.vessels[chamber]!,
        kind,
        high.mass[chamber]!,
        high.temperature[chamber]!,
      );
      if (at !== null && at >= value) this.milestones[i] = { ...milestone, reached: point() };
    });
    this.rig.chambers.forEach((chamber, k) => {
      if (this.overLimit[k] || !chamber.limit) return;
      const value = reading(
        this.model.law,
        this.model.vessels[k]!,
        chamber.limit.kind,
        high.mass[k]!,
        high.temperature[k]!,
      );
      if (value !== null && value > chamber.limit.value.nominal * (1 + 1e-9)) this.overLimit[k] = point();
    });
    if (!always && ++this.sinceKept < this.stride) return;
    this.sinceKept = 0;
    if (this.points[this.points.length - 1]?.t === this.t) this.points.pop();
    this.points.push(point());
    if (this.points.length < 2 * POINTS) return;
    const kept = this.points.filter((_, k) => k % 2 === 0);
    this.points.length = 0;
    this.points.push(...kept);
    this.stride *= 2;
  }

  private result(ended: Filling['ended']): Filling {
    this.sinceKept = this.stride;
    this.keep(true);
    const states = (at: { mass: Float64Array; temperature: Float64Array }): ChamberState[] =>
      Array.from(at.mass, (m, k) => stateOf(this.model, k, m, at.temperature[k]!));
    return {
      points: this.points,
      strokes: this.strokes,
      seconds: this.t / 1e6,
      firstStroke: this.firstStroke,
      ended,
      highest: states(this.extremes.high),
      lowest: states(this.extremes.low),
      overLimit: this.overLimit,
      milestones: this.milestones,
      rising: this.rising,
      lines: Array.from(this.lineMass),
      energy: this.energy + Math.max(0, this.work[0]!),
    };
  }
}

/** Limits of the chambers that stacks end in, and thresholds that sensors on them wait for. */
function milestonesOf(rig: Rig): Milestone[] {
  const ends = new Set(rig.stacks.map((stack) => stack.members[stack.members.length - 1]!.index));
  return [...ends].flatMap((chamber): Milestone[] => {
    const sensors = rig.sensors.flatMap((sensor, index): Milestone[] => {
      if (sensor.chamber !== chamber || sensor.on?.side !== 'above') return [];
      return [{ chamber, sensor: index, kind: sensor.on.sensed, value: sensor.on.value.nominal, reached: null }];
    });
    const limit = rig.chambers[chamber]?.limit;
    return limit
      ? [...sensors, { chamber, sensor: null, kind: limit.kind, value: limit.value.nominal, reached: null }]
      : sensors;
  });
}

const beyondLaw = (model: FlowModel, k: number, mass: number, temperature: number): boolean =>
  doubtAt(model, k, stateOf(model, k, mass, temperature)) !== null;

function lineSeconds(pattern: StrokePattern, line: number): number {
  return (pattern.lines[line] ?? []).reduce((sum, [from, to]) => sum + (to - from), 0) / 1e6;
}
