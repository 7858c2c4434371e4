/** What a followed run leaves behind: points over time, extremes, limits passed, values reached, energy. One recorder for every run. */
import type { Contents } from '../flow/contents';
import { drivesEnergy, type DoorPower } from '../flow/door-energy';
import type { ChamberState, Milestone, RunEnergy, RunPoint, WorkingPoint } from '../flow/facts';
import type { FlowModel } from '../flow/rig-model';
import { beyondRange, beyondSqueeze, stateOf } from '../flow/states';
import { reading } from '../flow/vessel';
import type { DoorWork, Extremes, Trapped } from '../flow/watch';
import { doorWork, extremesOf, sumOf } from '../flow/watch';
import type { Rig } from '../model/rig';

/** Part of what a chamber holds by which it must have gone beyond where it stood before, to be on its way. */
const DRIFT = 1e-4;
/** Strokes whose sums are kept. */
const MARKS = 500;
/** Relative amount by which a value must be above a limit to be over it: more than rounding. */
const OVER = 1 + 1e-9;

/** J so far: of each door (stated while it moves, done on the contents, given back), of doors held, of feeds and draws. */
interface EnergySums {
  readonly moving: Float64Array;
  readonly done: Float64Array;
  readonly back: Float64Array;
  readonly holding: number;
  readonly pumps: number;
}

/** Sums of a run at a moment between two strokes. */
export interface Mark {
  /** µs. */
  readonly t: number;
  readonly strokes: number;
  readonly energy: EnergySums;
  readonly lines: Float64Array;
  /** The chambers that stacks end in, and what they hold, kg. */
  readonly held: readonly [chamber: number, mass: number][];
}

export class Recorder {
  readonly extremes: Extremes;
  readonly work: DoorWork;
  readonly lines: Float64Array;
  readonly hottest: Float64Array;
  /** Pockets squeezed with nowhere to go since `beyond` was last asked. */
  readonly trapped: Trapped[] = [];
  readonly points: RunPoint[] = [];
  readonly overLimit: (RunPoint | null)[];
  readonly milestones: Milestone[];
  private readonly moving: Float64Array;
  private holding = 0;
  private pumps = 0;

  constructor(
    private readonly rig: Rig,
    private readonly model: FlowModel,
    private readonly contents: Contents,
  ) {
    const { chambers, doors } = model.network;
    this.extremes = extremesOf(contents, chambers);
    this.work = doorWork(doors);
    this.moving = new Float64Array(doors);
    this.lines = new Float64Array(model.lines.length);
    this.hottest = new Float64Array(chambers + doors);
    this.overLimit = rig.chambers.map(() => null);
    this.milestones = milestonesOf(rig);
  }

  /** J so far, apart. */
  energy(): RunEnergy {
    return runEnergy(this.sums());
  }

  private sums(): EnergySums {
    const { moving, holding, pumps, work } = this;
    return { moving, done: work.done, back: work.back, holding, pumps };
  }

  /** What stands now, as a point. */
  point(t: number, strokes: number): RunPoint {
    const { mass, temperature } = this.contents;
    const { chambers } = this.model.network;
    return {
      t,
      strokes,
      mass: Array.from(mass.subarray(0, chambers)),
      temperature: Array.from(temperature.subarray(0, chambers)),
      energy: this.energy().total,
    };
  }

  /** Takes limits and milestones that have been passed since the last look: what is reached between two looks counts. */
  look(t: number, strokes: number): void {
    const { high } = this.extremes;
    const highest = (chamber: number, kind: Milestone['kind']): number | null =>
      reading(this.model.law, this.model.vessels[chamber]!, kind, high.mass[chamber]!, high.temperature[chamber]!);
    this.milestones.forEach((milestone, k) => {
      if (milestone.reached) return;
      const at = highest(milestone.chamber, milestone.kind);
      if (at !== null && at >= milestone.value) this.milestones[k] = { ...milestone, reached: this.point(t, strokes) };
    });
    this.rig.chambers.forEach(({ limit }, k) => {
      if (this.overLimit[k] || !limit) return;
      const at = highest(k, limit.kind);
      if (at !== null && at > limit.value.nominal * OVER) this.overLimit[k] = this.point(t, strokes);
    });
  }

  /** Why the run ends with what was recorded since this was last asked: the law or the material does not reach there; else null. */
  beyond(): string | null {
    const { rig, model, contents } = this;
    const squeezed = this.trapped
      .splice(0)
      .map(({ doors, to }) => beyondSqueeze(model, to, doors.map((door) => rig.doors[door]!.name).join(', ')));
    const outside = rig.chambers.map(({ name }, k) => {
      const doubt = beyondRange(model, k, contents.mass[k]!, this.hottest[k]!);
      return doubt && `${name}: ${doubt}`;
    });
    return [...squeezed, ...outside].find((doubt) => doubt !== null) ?? null;
  }

  /** Keeps a point; one at the same time as the last replaces it. */
  keep(t: number, strokes: number): void {
    if (this.points[this.points.length - 1]?.t === t) this.points.pop();
    this.points.push(this.point(t, strokes));
  }

  /** Sums at the end of a stroke, so that means over the strokes after it can be taken. */
  mark(t: number, strokes: number): void {
    this.marks.push(this.now(t, strokes));
    if (this.marks.length < 2 * MARKS) return;
    const kept = this.marks.filter((_, k) => k % 2 === 0);
    this.marks.length = 0;
    this.marks.push(...kept);
  }

  /** The sums so far. */
  now(t: number, strokes: number): Mark {
    const { moving, done, back, holding, pumps } = this.sums();
    const energy = { moving: moving.slice(), done: done.slice(), back: back.slice(), holding, pumps };
    return { t, strokes, energy, lines: this.lines.slice(), held: this.ends() };
  }

  /**
   * Adds what has come since `mark` to the sums `times` times more. `stored`: kg that the rig came to hold since then (less than is worth
   * following further); it is not stored anew each time, so feeds and draws are given that much less and more, and mass is conserved.
   */
  repeat({ energy, lines }: Mark, times: number, stored: number): void {
    const again = (sums: Float64Array, then: Float64Array): void =>
      sums.forEach((sum, k) => (sums[k] = sum + times * (sum - then[k]!)));
    again(this.moving, energy.moving);
    again(this.work.done, energy.done);
    again(this.work.back, energy.back);
    const moved = this.lines.map((sum, k) => sum - lines[k]!);
    const share = Number.isFinite(stored) ? stored / Math.max(sumOf(moved), Number.MIN_VALUE) : 0;
    this.model.lines.forEach(({ sign }, k) => (this.lines[k]! += times * moved[k]! * (1 - sign * share)));
    this.holding += times * (this.holding - energy.holding);
    this.pumps += times * (this.pumps - energy.pumps);
  }

  /** The last sums that were kept at stroke `strokes` or before, else the first. */
  markAt(strokes: number): Mark | undefined {
    return this.marks.filter((m) => m.strokes <= strokes).pop() ?? this.marks[0];
  }

  /** Means since `mark`, over at least one stroke; null where there is none. */
  since(mark: Mark | undefined, t: number, strokes: number): WorkingPoint | null {
    if (!mark || strokes <= mark.strokes || t <= mark.t) return null;
    const lines = Array.from(this.lines, (m, k) => m - mark.lines[k]!);
    const energy = runEnergy(sinceThen(this.sums(), mark.energy));
    // What strokes brought: what their draws took from the last chambers, with what those hold more. One that is not drawn from gains nothing
    // for good at a working point, whatever is still to come; the atmosphere takes all.
    const moved = this.ends().reduce((sum, [chamber, held], k) => {
      const isDrawn = this.model.lines.some((line) => line.chamber === chamber && line.sign < 0);
      if (!isDrawn && !this.rig.chambers[chamber]!.endless) return sum;
      const drawn = this.model.lines.reduce(
        (d, line, l) => d + (line.chamber === chamber ? line.sign * lines[l]! : 0),
        0,
      );
      return sum + Math.max(0, held - mark.held[k]![1] - drawn);
    }, 0);
    return { strokes: strokes - mark.strokes, seconds: (t - mark.t) / 1e6, energy, moved, lines };
  }

  /** The chambers that stacks end in, and what they hold. */
  private ends(): [chamber: number, mass: number][] {
    const ends = new Set(this.rig.stacks.map((stack) => stack.members[stack.members.length - 1]!.index));
    return [...ends].map((chamber) => [chamber, this.contents.mass[chamber]!]);
  }

  private readonly marks: Mark[] = [];

  /** Every second point, so that a long run stays small. */
  thin(): void {
    const kept = this.points.filter((_, k) => k % 2 === 0);
    this.points.length = 0;
    this.points.push(...kept);
  }

  /**
   * Whether some chamber goes on emptying or filling since stroke `strokes`, between what it held before: it stands nowhere in the last third of
   * that time where it stood in the first.
   */
  drifts(strokes: number): boolean {
    const since = this.points.filter((point) => point.strokes >= strokes);
    const third = Math.floor(since.length / 3);
    if (third === 0) return false;
    const range = (points: readonly RunPoint[], k: number): readonly [low: number, high: number] => {
      const masses = points.map(({ mass }) => mass[k]!);
      return [Math.min(...masses), Math.max(...masses)];
    };
    return this.rig.chambers.some((_, k) => {
      const [low, high] = range(since.slice(0, third), k);
      const [least, most] = range(since.slice(-third), k);
      return least > high + DRIFT * high || most < low - DRIFT * low;
    });
  }

  /** States of the chambers with these contents. */
  states(at: Contents): ChamberState[] {
    return this.rig.chambers.map((_, k) => stateOf(this.model, k, at.mass[k]!, at.temperature[k]!));
  }

  /** Counts the energy of feeds and draws over a time, J. */
  countLines(seconds: (line: number) => number): void {
    this.model.lines.forEach((line, k) => (this.pumps += line.power * seconds(k)));
  }

  /** Counts the energy of a door that moves or is held over a time. */
  countDoor(door: number, power: DoorPower, seconds: { readonly moving: number; readonly held: number }): void {
    this.moving[door]! += power.moving * seconds.moving;
    this.holding += power.held * seconds.held;
  }
}

function runEnergy({ moving, done, back, holding, pumps }: EnergySums): RunEnergy {
  const drives = drivesEnergy(moving, done);
  return {
    doorsMoving: sumOf(moving),
    doorsHolding: holding,
    compression: sumOf(done),
    back: sumOf(back),
    pumps,
    drives,
    total: drives + holding + pumps,
  };
}

function sinceThen(now: EnergySums, then: EnergySums): EnergySums {
  const less = (a: Float64Array, b: Float64Array): Float64Array => a.map((v, k) => v - b[k]!);
  return {
    moving: less(now.moving, then.moving),
    done: less(now.done, then.done),
    back: less(now.back, then.back),
    holding: now.holding - then.holding,
    pumps: now.pumps - then.pumps,
  };
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
