/**
 * Facts about flow of one rig: what `flow`, hovers, checks, requirements and the store panel read. SI units; times in seconds unless
 * they end in `At`/`t`, which are whole microseconds. A figure that is not reliable is null, with the reason in `doubts`.
 */
import type { Problem } from '../model/problem';
import type { Level } from './rig-model';
import type { CoursePoint } from './stroke-course';
import type { CutOff, DoorLoad, Trapped } from './watch';
import type { LineSizing } from './sizing';

/** Contents of a chamber at one moment. */
export interface ChamberState {
  readonly mass: number;
  /** kg/m3 */
  readonly density: number;
  /** Pa; null for a packed medium. */
  readonly pressure: number | null;
  /** m; liquids only. */
  readonly level: number | null;
  /** K */
  readonly temperature: number;
  /** A packed medium in a chamber whose contents are stated as a mass: shown so too; else by its density. */
  readonly byMass?: true;
}

/** How a figure was obtained: a repeating stroke at one of the two levels, or the run that follows the rig by itself. */
export type Obtained = Level | 'followed';

/** What one repeating stroke moves along one stack. */
export interface StackStroke {
  readonly stack: number;
  /** Chambers at its ends. */
  readonly from: number;
  readonly to: number;
  /**
   * kg into `to` by one stroke: with the contents as they stand at the start (null where withheld), and with the trigger's chamber at its
   * threshold.
   */
  readonly atStart: number | null;
  readonly atTrigger: number;
  /** The same with `to` at its limit; null where no limit is stated, or withheld. Computed when first read, as is the ceiling. */
  readonly atLimit: number | null;
  /** State of `to` at which a stroke moves nothing; null where there is none (see `ceilingNote`). */
  readonly ceiling: ChamberState | null;
  readonly ceilingNote: string;
  /** What a stroke moves into `to` by what it holds. Computed when first read. */
  readonly curve: GainPoints;
}

/** Mass per stroke against the state of the chamber that it goes into, the other chambers held as by `atTrigger`. */
export interface GainPoints {
  /** In rising mass of `to`; empty where there is no curve, and why is in `note`. */
  readonly points: readonly { readonly state: ChamberState; /** kg */ readonly gain: number }[];
  readonly note: string;
}

/** One repeating stroke over time, with the trigger's chamber at its threshold; feeds and draws are off. */
export interface StrokeCourse {
  /** µs of the timing trace at which its first point stands: a moment at which a stroke begins. */
  readonly from: number;
  /** Times from there. */
  readonly points: readonly CoursePoint[];
  /** Moments at which something begins or ends, µs from `from`. */
  readonly moments: readonly number[];
  /** Strokes in it. */
  readonly strokes: number;
}

/** A stroke whose figures are withheld: it could not be followed, or never settles into a repeating one. */
export interface NotComputed {
  /** Index into `TimingFacts.strokes`. */
  readonly stroke: number;
  readonly why: string;
}

/** Whether strokes carry what a chamber is fed. */
export interface KeepUp {
  /** Chamber that is fed. */
  readonly chamber: number;
  /** kg/s that feeds (less draws) bring as the run is followed, where it reaches a working point; else as stated. */
  readonly feed: number;
  /** Most the strokes take out per second, and the state of the chamber that it is computed for. */
  readonly capacity: number;
  readonly at: 'limit' | 'threshold' | 'start';
  /** From the followed run: the chamber stays below its limit and comes to rest. Null where the run was cut before that is known. */
  readonly keeps: boolean | null;
  /**
   * Why it does not: strokes have `stopped` and its feed goes on, they take `less` than comes; or they take enough, and come too
   * `late` (the limit is passed before they take it), or it stays in a chamber further on from which less (`drawn-less`) or nothing (`not-drawn`) is taken. Null where it does, or is not known.
   */
  readonly because: {
    readonly kind: 'stopped' | 'less' | 'late' | 'drawn-less' | 'not-drawn';
    /** Where it stays: the fed chamber, or the one further on. */
    readonly chamber: number;
  } | null;
  /** Seconds between strokes at which they still carry the feed; Infinity without a feed. */
  readonly longestInterval: number;
  /** The highest state that the chamber reaches as the run is followed; null where it goes on rising, or the run was cut before that is known. */
  readonly settlesAt: ChamberState | null;
  /** The highest state as far as it was followed; null where it was not. */
  readonly highest: ChamberState | null;
  /** Feeds of the chamber (indices of lines) that their own `only below` stops, or slows, at the highest state: they hold it there, not the strokes. */
  readonly heldBy: readonly number[];
  /** How it goes on rising when the run was cut; null where it does not, or that is not known. */
  readonly rise: Rise | null;
}

/** A chamber that rises as fast at the end of the followed run as before. */
export interface Rise {
  /** Its states half-way and at the end, and the seconds between. */
  readonly from: ChamberState;
  readonly to: ChamberState;
  readonly seconds: number;
  /** The first limit of any chamber that is passed if all goes on like that, and when, in seconds from the start; null where there is none. */
  readonly limit: { readonly chamber: number; readonly at: number } | null;
}

/** The working point of a rig left to run by itself: means over the last strokes of the followed run, once they repeat themselves. */
export interface WorkingPoint {
  /** Strokes and seconds that the means are taken over. */
  readonly strokes: number;
  readonly seconds: number;
  /** J over that time, apart, and kg that strokes brought into the last chambers of the stacks. */
  readonly energy: RunEnergy;
  readonly moved: number;
  /** kg that each line moved. */
  readonly lines: readonly number[];
}

/** Energy of one stroke, J, by where it goes. */
export interface EnergySplit {
  /** What the stated powers of moving doors come to. */
  readonly doorsMoving: number;
  readonly doorsHolding: number;
  /** Work of the doors on the contents, gross: nothing gives back what expanding contents return to a door. Null where `impossible`. */
  readonly compression: number | null;
  /** What they return, and a drive that could take it would save. */
  readonly back: number | null;
  /** `compression` less `back`. */
  readonly net: number | null;
  /** The same with every chamber that has a limit at it: the hardest stroke. */
  readonly compressionAtLimit: number | null;
  /** Feeds and draws while one interval lasts. */
  readonly pumps: number;
  /** The moving doors, each by the larger of its stated energy and its work: the drive that is stated does that work. */
  readonly drives: number | null;
  /** `drives`, `doorsHolding` and `pumps`. */
  readonly total: number | null;
}

export interface EnergyFacts {
  /** `followed`: at the working point. Otherwise of the repeating stroke, with the trigger's chamber at its threshold. */
  readonly obtained: Obtained;
  readonly perStroke: EnergySplit;
  /** J per kg moved; null where a stroke moves nothing. */
  readonly perKg: number | null;
  /** J per day at the working point, gross and net; null where there is none. */
  readonly perDay: number | null;
  readonly netPerDay: number | null;
  /** W, most at any moment: doors, with all feeds and draws. */
  readonly peakPower: number;
  /** What longer intervals between strokes save (doors, per day) and cost (the receiver's peak). */
  readonly longer: readonly LongerInterval[];
}

/** What one longer interval between strokes would mean. */
export interface LongerInterval {
  readonly interval: number;
  /** J per day for moving and holding doors. */
  readonly doorsPerDay: number;
  /** State of the fed chamber just before each stroke, the others as at the working point; null without one, and where it does not settle or its law does not hold (`beyond`). */
  readonly peak: ChamberState | null;
  readonly beyond: string | null;
}

/** J since the start of a run, apart. */
export interface RunEnergy {
  readonly doorsMoving: number;
  readonly doorsHolding: number;
  /** Work of the doors on the contents, gross; what they would get back. */
  readonly compression: number;
  readonly back: number;
  /** Feeds and draws. */
  readonly pumps: number;
  /** The moving doors, each by the larger of its stated energy and its work over the time counted. */
  readonly drives: number;
  /** `drives`, `doorsHolding` and `pumps`. */
  readonly total: number;
}

/** One point of a followed run. */
export interface RunPoint {
  readonly t: number;
  readonly strokes: number;
  /** kg per chamber. */
  readonly mass: readonly number[];
  /** K per chamber. */
  readonly temperature: readonly number[];
  /** J since the start: `RunEnergy.total`. */
  readonly energy: number;
}

/** A value that a chamber at the end of a stack may reach: its limit, or the threshold of a sensor on it. */
export interface Milestone {
  readonly chamber: number;
  /** Index of the sensor; null for the limit. */
  readonly sensor: number | null;
  readonly kind: 'pressure' | 'density' | 'mass' | 'level';
  readonly value: number;
  /** When it is first reached; null where it is not. */
  readonly reached: RunPoint | null;
}

/**
 * Strokes run one after the other at the balance level, feeds and draws on, sensors looked at between strokes: exact in masses for
 * each stroke, in time to within one interval at every stop and start. The coupled run is the exact one.
 */
export interface Filling {
  readonly points: readonly RunPoint[];
  readonly strokes: number;
  readonly seconds: number;
  /** µs at which the first stroke starts; null where none does. */
  readonly firstStroke: number | null;
  /**
   * Why it ends: `stopped` (sensors keep the rig still), `steady` (nothing changes any more from stroke to stroke),
   * `round` (it stops and starts, and no chamber has gone higher or lower for as long again as before),
   * `target`, `left` (it leaves the range of the law or of the material: `left` says how), `overfull` (a chamber holds twice its limit, or a liquid is beyond its law: nothing stops the rig), `budget` (strokes or
   * time allowed ran out), `never` (no stroke ever starts).
   */
  readonly ended: 'stopped' | 'steady' | 'round' | 'target' | 'overfull' | 'left' | 'budget' | 'never';
  /** Per chamber: the states with the highest and the lowest pressure (packed: density). */
  readonly highest: readonly ChamberState[];
  readonly lowest: readonly ChamberState[];
  /** First time each chamber is above its limit; null where it never is. */
  readonly overLimit: readonly (RunPoint | null)[];
  /** Strokes and time to each value that means something to the rig. */
  readonly milestones: readonly Milestone[];
  /** Chambers that go on being fed when it has ended, with nothing that stops the feed: their highest state is not the last word. */
  readonly rising: readonly number[];
  /** Its working point; null where it stops, or was not followed until it repeats. */
  readonly working: WorkingPoint | null;
  /** Why it was not followed further, where that is a limit of the law or of the engine. */
  readonly left: string | null;
  /** kg moved by each line of the rig. */
  readonly lines: readonly number[];
  /** Energy, J. */
  readonly energy: RunEnergy;
  /** Highest temperature of each chamber, K. */
  readonly hottest: readonly number[];
}

/** Facts about flow of one stroke of the timing facts. */
export interface StrokeFlow {
  /** Index into `TimingFacts.strokes`. */
  readonly stroke: number;
  /** Seconds from stroke to stroke; null where it happens once. */
  readonly interval: number | null;
  /** kg each chamber gains by one stroke with the trigger's chamber at its threshold. */
  readonly gains: readonly number[];
  readonly obtained: Level;
  /** Why no rig can make this stroke: a pocket would be squeezed beyond what its law or material reaches. Null where it can. */
  readonly impossible: string | null;
  /** Of the stacks whose doors let something through in this stroke. */
  readonly stacks: readonly StackStroke[];
  readonly trapped: readonly Trapped[];
  /** What the stroke asks of each door, per door of the rig. */
  readonly loads: DoorLoad;
  /** Highest temperature of each chamber and pocket in the stroke, K. */
  readonly hottest: readonly number[];
  /** The same stroke without any heat to the walls; null where that is what was computed, and for media other than gases. */
  readonly adiabatic: AdiabaticBound | null;
  /** Computed when first read; null where it costs too much. */
  readonly course: StrokeCourse | null;
  /** Computed when first read. */
  readonly keepUp: KeepUp | null;
  readonly energy: EnergyFacts;
  /** Figures of this stroke that are withheld, each with the reason; reading it computes them all but the bound, the curve and the course. */
  readonly withheld: readonly string[];
}

/** Bound of an isothermal answer: the stroke in no time, so that walls take no heat. */
export interface AdiabaticBound {
  /** kg per chamber. */
  readonly gains: readonly number[];
  /** J, gross. */
  readonly work: number;
  readonly hottest: readonly number[];
}

/** What the openings make of a stroke. */
export interface DetailFacts {
  /** kg into the last chamber of each stack: through the openings, and if all equalised at once. */
  readonly stacks: readonly { readonly stack: number; readonly moved: number; readonly balance: number }[];
  /** Doors that shut before what is behind them had filled, or before they had emptied. */
  readonly shortFills: readonly CutOff[];
}

/** All facts about flow of a rig. Parts that cost much are getters: computed when first read, then kept. */
export interface FlowFacts {
  /** What makes no sense or cannot be computed, with its place. */
  readonly problems: readonly Problem[];
  /** Null where the medium or a volume is missing or impossible: then nothing below is computed. */
  readonly medium: {
    readonly name: string;
    readonly title: string;
    readonly phase: 'gas' | 'liquid' | 'packed';
    /** Pa up to which its law holds; Infinity for a packed medium. */
    readonly mostPressure: number;
  } | null;
  /** Contents at the start. */
  readonly start: readonly ChamberState[];
  readonly lines: readonly LineSizing[];
  /** One per stroke of the timing facts that the flow engine can follow. */
  readonly strokes: readonly StrokeFlow[];
  /** Strokes that are not answered, and why. */
  readonly notComputed: readonly NotComputed[];
  /** Sentences about what should not be believed, and why. */
  readonly doubts: readonly string[];
  /** Feeds and draws off from the start contents (with the trigger's chamber at its threshold): how far strokes empty it. */
  readonly emptying: Filling | null;
  /** Feeds and draws on: how the rig goes on by itself. */
  readonly filling: Filling | null;
  /** Orifice level for a stroke; null for media or rigs it cannot do, with the reason in `detailNote`. */
  readonly detail: (stroke: number) => DetailFacts | null;
  readonly detailNote: string;
}
