/**
 * Facts about time of one rig: what `timing`, hovers, checks, requirements and the diagram read. Whole microseconds from the trigger's
 * edge. Facts are immutable; some of their parts are getters that compute when first read and keep what they found.
 */
import type { Path } from '../model/stages';
import type { Trace } from './trace';

/** `[from, to)`; `to` is null where it does not end within the pattern. */
export interface Interval {
  readonly from: number;
  readonly to: number | null;
}

/** A link of the chain sensor → logic → timer → door; `t` is when this link's change happens. */
export interface CauseLink {
  readonly t: number;
  readonly kind: 'sensor' | 'switch' | 'element' | 'door';
  /** Index of the net, or of the door for the last link. */
  readonly index: number;
  readonly name: string;
  readonly value: boolean;
  /** Contributions since the link before: response of the element, preset that ran out, travel of the door. */
  readonly response: number;
  readonly preset: number;
  readonly travel: number;
}

/** One opening of a door, in its three strengths. */
export interface DoorWindow {
  /**
   * First command on to last command off (of an opening without end: to the first command off); `commandedParts` where the door was
   * turned round on its way.
   */
  readonly commanded: Interval | null;
  readonly notShut: Interval;
  /** It was off its seat already as the trace begins: the door left it at a moment that the trace does not have (see `leavesAt`). */
  readonly openBefore: boolean;
  /** The first stretch of being fully open; all of them in `fullyOpenParts`. One of no length: it turned round just as it arrived. */
  readonly fullyOpen: Interval | null;
  readonly commandedParts: readonly Interval[];
  readonly fullyOpenParts: readonly Interval[];
  /** Why the door opens, and why it closes (empty where it does not). */
  readonly opensBecause: readonly CauseLink[];
  readonly closesBecause: readonly CauseLink[];
}

export interface DoorFacts {
  readonly door: number;
  /**
   * Openings in the run, each different one once, in order of time: those of the first stroke (or open already when the trigger
   * comes), and those of every later stroke that is not like one before it.
   */
  readonly windows: readonly DoorWindow[];
}

export interface PairFacts {
  /** Indices, in order of declaration. */
  readonly doors: readonly [number, number];
  /** Times when both are not shut, and when both are fully open, up to where the pattern repeats. */
  readonly bothNotShut: readonly Interval[];
  readonly bothFullyOpen: readonly Interval[];
  /** Longest time both are fully open; `Infinity`: without end; null: never. */
  readonly overlap: number | null;
  /** Shortest of the times both are fully open, as the metric `overlap` judges each of them; null: never. */
  readonly leastOverlap: number | null;
  /** Shortest time between one being shut and the other leaving shut; null where their not-shut windows meet or one never opens. */
  readonly gap: number | null;
}

export interface TimerFacts {
  /** Index into network.elements. */
  readonly element: number;
  readonly name: string;
  readonly preset: number;
  /** Longest time its input stays in the state it times (TON: on; TOF: off; TP: distance of rising edges), null where unbounded, 0 where it never comes or is over at the instant at which it comes. */
  readonly longestInput: number | null;
  /** Whether the input comes into the state that the timer times at all, be it for no time. */
  readonly comes: boolean;
  /** `longestInput - preset` for a TON; null where it does not apply or is unbounded. Negative: never runs out. */
  readonly margin: number | null;
  /** Times it ran out in a stroke, and times it was restarted while running. */
  readonly fires: number;
  readonly retriggers: number;
}

/** The sensor or switch whose change starts a stroke; `power` (net −1) for a rig that runs by itself from power-on. */
export interface Trigger {
  readonly kind: 'sensor' | 'switch' | 'power';
  readonly net: number;
  readonly name: string;
}

export interface StrokeFacts {
  /** Index of the sensor that starts it; −1 where a switch does, or power alone (then no sensor of the rig starts a stroke). */
  readonly sensor: number;
  readonly trigger: Trigger;
  readonly becomes: boolean;
  /**
   * Time zero is the trigger's edge, or the first opening of a rig that runs by itself (its trace starts before that, at power-on).
   * Covers the first stroke and at least one repeat where there is one.
   */
  readonly trace: Trace;
  readonly doors: readonly DoorFacts[];
  readonly pairs: readonly PairFacts[];
  /** Paths that must never stand open, with the times when they do (none where they do not). */
  readonly straightThrough: readonly { readonly path: Path; readonly intervals: readonly Interval[] }[];
  /** When the last door of the first stroke is back where it stood before the trigger; null where one never is. */
  readonly strokeEnds: number | null;
  /**
   * Interval between strokes as the doors make them, with the trigger held; null where there is no second stroke, or where the strokes
   * of a run that ends come at different intervals. Where those of one pattern do, that of the whole pattern.
   */
  readonly repeat: number | null;
  /** How many strokes there are with the trigger held; null: without end. */
  readonly strokeCount: number | null;
  /**
   * The pattern: the state at `from` returns at `to` (both of the trace's time), so what follows `to` is what followed `from`. It holds
   * for the doors and the nets in `covers` (null: all nets); signals that nothing driven depends on may be left out. Null where the rig
   * falls quiet, or where the trace stopped before it was known.
   */
  readonly pattern: { readonly from: number; readonly to: number; readonly covers: readonly number[] | null } | null;
  /**
   * Where groups of doors that share nothing but inputs repeat at intervals that do not come together again soon (`pattern` is null then):
   * each group with its own. What is stated between doors of different groups holds for the trace only.
   */
  readonly intervals: readonly { readonly interval: number; readonly doors: readonly number[] }[];
  /** When each stroke of the trace begins: `lead`, the door that leaves home first, departs. */
  readonly starts: readonly number[];
  readonly lead: number;
  /** The net change (`startNet` becoming `startValue`) that lets the lead depart again and again: where a stroke comes from. */
  readonly startNet: number;
  readonly startValue: boolean;
  /** How many strokes until the pattern is periodic (0: at once), and strokes in one period. */
  readonly settlesAfter: number;
  readonly strokesPerPeriod: number;
  readonly timers: readonly TimerFacts[];
}

/** What happens in one of the situations of the design page; windows are relative to the operation. */
export interface Behaviour {
  readonly situation: 'no-trigger' | 'held' | 'chatter' | 'lost' | 'switch' | 'power';
  /** The switch or sensor concerned (empty for power and for no trigger). */
  readonly input: string;
  /** The worst moment, from the trigger's edge; null: before the trigger. For `chatter`: the interval of the flips that is worst. */
  readonly at: number | null;
  /** Doors that stand open when all has settled, and paths that must not but stand straight open at some moment (from the operation on). */
  readonly leftOpen: readonly number[];
  readonly straightThrough: readonly { readonly path: Path; readonly interval: Interval }[];
  /** When everything is at rest again after the operation; null: never. */
  readonly settles: number | null;
  /** How many moments were tried. */
  readonly tried: number;
}

export interface TimingFacts {
  /** One per flip of a sensor that moves a door. */
  readonly strokes: readonly StrokeFacts[];
  /**
   * Nets of switches and sensors that were turned the other way round before the trigger, because no single change starts a stroke; all
   * strokes are with them turned. Usually none.
   */
  readonly turned: readonly number[];
  /** Doors that move, nets that oscillate or a loop that never settles although no sensor flips. */
  readonly atRest: {
    readonly trace: Trace;
    readonly moves: boolean;
    /** Doors that go on moving. */
    readonly movingDoors: readonly number[];
    readonly loop: { readonly nets: readonly number[]; readonly t: number } | null;
    /** Doors that stay open permanently once settled. */
    readonly openDoors: readonly number[];
  };
  readonly behaviours: readonly Behaviour[];
  /** Set where the event budget ran out before an answer; the affected facts are then partial. */
  readonly incomplete: string | null;
}
