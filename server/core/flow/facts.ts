/**
 * Facts about flow of one rig: what `flow`, hovers, checks, requirements and the store panel read. SI units; times in seconds unless
 * they end in `At`/`t`, which are whole microseconds. A figure that cannot be stood behind is null, with the reason in `doubts`.
 */
import type { Problem } from '../model/problem';
import type { Trapped } from './balance';
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
}

/** What one stroke moves along one stack. */
export interface StackStroke {
  readonly stack: number;
  /** Chambers at its ends. */
  readonly from: number;
  readonly to: number;
  /** kg into `to` by one stroke: with the contents as they stand at the start, and with the trigger's chamber at its threshold. */
  readonly atStart: number;
  readonly atTrigger: number;
  /** The same with `to` at its limit; null where no limit is stated. */
  readonly atLimit: number | null;
  /** State of `to` at which a stroke moves nothing; null where there is none (see `ceilingNote`). */
  readonly ceiling: ChamberState | null;
  readonly ceilingNote: string;
}

export interface KeepUp {
  /** Chamber that is fed. */
  readonly chamber: number;
  /** Net kg/s that feeds (less draws) bring. */
  readonly feed: number;
  /** Most the strokes take out per second, and the state of the chamber it is reckoned at. */
  readonly capacity: number;
  readonly at: 'limit' | 'threshold' | 'start';
  readonly keeps: boolean;
  /** Seconds between strokes that still do; Infinity without a feed. */
  readonly longestInterval: number;
  /** State the chamber settles at with the feed on all the time; null where it does not settle. */
  readonly settlesAt: ChamberState | null;
}

/** Energy of one stroke, J, by where it goes. */
export interface EnergySplit {
  readonly doorsMoving: number;
  readonly doorsHolding: number;
  /** Work of the doors on the contents, with the trigger's chamber at its threshold. Expansion is counted back. */
  readonly compression: number;
  /** The same with every chamber that has a limit at it: the hardest stroke. */
  readonly compressionAtLimit: number | null;
  /** Feeds and draws while one interval lasts. */
  readonly pumps: number;
  readonly total: number;
}

export interface EnergyFacts {
  readonly perStroke: EnergySplit;
  /** J per kg moved; null where a stroke moves nothing. */
  readonly perKg: number | null;
  /** J per day at the repeat interval; null where the rig does not repeat. */
  readonly perDay: number | null;
  /** W, most at any moment: doors, with all feeds and draws. */
  readonly peakPower: number;
  /** What longer intervals between strokes save (doors, per day) and cost (the receiver's peak). */
  readonly longer: readonly LongerInterval[];
}

export interface LongerInterval {
  readonly interval: number;
  /** J per day for moving and holding doors. */
  readonly doorsPerDay: number;
  /** State of the fed chamber just before each stroke; null where it does not settle. */
  readonly peak: ChamberState | null;
}

/** One point of a filling, at the end of a stroke or of a wait. */
export interface FillPoint {
  readonly t: number;
  readonly strokes: number;
  /** kg per chamber. */
  readonly mass: readonly number[];
  /** K per chamber. */
  readonly temperature: readonly number[];
}

/** A value that a chamber at the end of a stack may reach: its limit, or the threshold of a sensor on it. */
export interface Milestone {
  readonly chamber: number;
  /** Index of the sensor; null for the limit. */
  readonly sensor: number | null;
  readonly kind: 'pressure' | 'density' | 'mass' | 'level';
  readonly value: number;
  /** When it is first reached; null where it is not. */
  readonly reached: FillPoint | null;
}

/**
 * Strokes run one after the other at the balance level, feeds and draws on, sensors looked at between strokes: exact in masses for
 * each stroke, in time to within one interval at every stop and start. The coupled run is the exact one.
 */
export interface Filling {
  readonly points: readonly FillPoint[];
  readonly strokes: number;
  readonly seconds: number;
  /** µs at which the first stroke starts; null where none does. */
  readonly firstStroke: number | null;
  /**
   * Why it ends: `stopped` (sensors hold the rig still for good), `steady` (nothing changes any more from stroke to stroke),
   * `round` (it stops and starts, and no chamber has gone higher or lower for as long again as before),
   * `target`, `overfull` (a chamber holds twice its limit, or a liquid is beyond its law: nothing stops the rig), `budget` (strokes or
   * time allowed ran out), `never` (no stroke ever starts).
   */
  readonly ended: 'stopped' | 'steady' | 'round' | 'target' | 'overfull' | 'budget' | 'never';
  /** Per chamber: the states with the highest and the lowest pressure (packed: density). */
  readonly highest: readonly ChamberState[];
  readonly lowest: readonly ChamberState[];
  /** First time each chamber is above its limit; null where it never is. */
  readonly overLimit: readonly (FillPoint | null)[];
  /** Strokes and time to each value that means something to the rig. */
  readonly milestones: readonly Milestone[];
  /** Chambers that go on being fed when it has ended, with nothing that stops the feed: their highest state is not the last word. */
  readonly rising: readonly number[];
  /** kg moved by each line of the rig. */
  readonly lines: readonly number[];
  /** Energy, J: doors, compression, lines. */
  readonly energy: number;
}

export interface StrokeFlow {
  /** Index into `TimingFacts.strokes`. */
  readonly stroke: number;
  /** Seconds from stroke to stroke; null where it happens once. */
  readonly interval: number | null;
  /** kg each chamber gains by one stroke with the trigger's chamber at its threshold. */
  readonly gains: readonly number[];
  readonly stacks: readonly StackStroke[];
  readonly trapped: readonly Trapped[];
  /** Worked out when first read. */
  readonly keepUp: KeepUp | null;
  readonly energy: EnergyFacts;
}

/** Result of the orifice level for one stroke. */
export interface DetailFacts {
  /** kg into the last chamber of each stack, this level and balance. */
  readonly stacks: readonly { readonly stack: number; readonly moved: number; readonly balance: number }[];
  /** Doors that shut with less than all of the pressure behind them. */
  readonly shortFills: readonly { readonly door: number; readonly t: number; readonly fill: number }[];
}

export interface FlowFacts {
  /** What makes no sense or cannot be computed, with its place. */
  readonly problems: readonly Problem[];
  /** Null where the medium or a volume is missing or impossible: then nothing below is computed. */
  readonly medium: {
    readonly name: string;
    readonly title: string;
    readonly phase: 'gas' | 'liquid' | 'packed';
  } | null;
  /** Contents at the start. */
  readonly start: readonly ChamberState[];
  readonly lines: readonly LineSizing[];
  /** One per stroke of the timing facts that the flow engine can follow. */
  readonly strokes: readonly StrokeFlow[];
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
