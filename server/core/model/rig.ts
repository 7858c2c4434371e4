/**
 * The resolved rig: names bound, parts expanded, constants computed, every quantity in SI base units (times in whole
 * microseconds), every value with its place in the text. Plain data. What could not be resolved is absent or `null` and has a
 * problem; the rest of the rig stays usable.
 */
import type { Source } from './problem';

/**
 * A quantity with tolerance. `nominal` in the SI unit of its dimension (times, in arguments and comparisons of requirements, in
 * whole microseconds as everywhere), `min` ≤ `nominal` ≤ `max`.
 */
export interface Quantity {
  readonly nominal: number;
  readonly min: number;
  readonly max: number;
  readonly at: Source;
}

/** A time with tolerance in whole microseconds (exact integers). */
export interface TimeValue {
  readonly nominal: number;
  readonly min: number;
  readonly max: number;
  /** By how much both ends move where the nominal time moves by one; absent: by one, a tolerance in units of time. */
  readonly slopes?: { readonly min: number; readonly max: number };
  /** The expression that gives it where it is used; for a bare parameter of a part, the argument of the place. */
  readonly at: Source;
}

/** Every item of a rig: `name` is unique in the rig; items of placed parts are `place.item`. */
export interface Item {
  readonly name: string;
  /** The declared name in the text (selection range). */
  readonly at: Source;
  /** The whole statement. */
  readonly whole: Source;
  /** Comment above the declaration, for hovers. */
  readonly doc: string;
}

export type Phase = 'gas' | 'liquid' | 'packed';

export interface Medium extends Item {
  readonly phase: Phase;
  /** kg/mol */
  readonly molarMass: Quantity | null;
  readonly heatRatio: Quantity | null;
  /** K */
  readonly temperature: Quantity | null;
  /** kg/m3 at 101 325 Pa, liquids; null: of a built-in liquid by its equation. */
  readonly density: Quantity | null;
  /** Pa, liquids; as `density`. */
  readonly bulkModulus: Quantity | null;
  readonly law: 'ideal' | 'real';
  readonly process: 'isothermal' | 'adiabatic' | 'polytropic';
  readonly exponent: Quantity | null;
  /** K */
  readonly criticalTemperature: Quantity | null;
  /** Pa */
  readonly criticalPressure: Quantity | null;
  readonly acentricFactor: Quantity | null;
  /** Pa, liquids; null: of a built-in liquid by its equation, otherwise unknown. */
  readonly vapourPressure: Quantity | null;
  /**
   * Name of the built-in medium whose published equations hold for this one; null for media of the text, and where the text
   * changes a value that those equations give (molar mass, critical point, acentric factor).
   */
  readonly builtIn: string | null;
  /** Source of built-in data, for hovers; empty for media defined in the text. */
  readonly dataSource: string;
}

export interface Chamber extends Item {
  /** m3 */
  readonly volume: Quantity | null;
  /** Pa absolute */
  readonly pressure: Quantity | null;
  /** kg/m3 */
  readonly density: Quantity | null;
  /** kg */
  readonly mass: Quantity | null;
  /** K */
  readonly temperature: Quantity | null;
  /** m */
  readonly level: Quantity | null;
  /** m2 */
  readonly floorArea: Quantity | null;
  /** m */
  readonly elevation: Quantity | null;
  readonly limit: { readonly kind: 'pressure' | 'density' | 'mass'; readonly value: Quantity } | null;
  /** The highest temperature it may reach, K. */
  readonly temperatureLimit: Quantity | null;
  /** Heat that its walls pass per kelvin between the contents and the temperature of the medium, W/K. */
  readonly wall: Quantity | null;
  /** Time constant in which its contents approach the temperature of the medium. */
  readonly coolsIn: TimeValue | null;
  /** The atmosphere: whatever flows in or out, its pressure and temperature stay; it has no volume. */
  readonly endless: boolean;
  readonly tight: 'gas' | 'liquid' | null;
}

export type Position = 'open' | 'closed';

export interface Door extends Item {
  /** m3 */
  readonly pocket: Quantity | null;
  /** m3 */
  readonly clearance: Quantity | null;
  readonly opensIn: TimeValue;
  readonly closesIn: TimeValue;
  /** m2, from `area` or `bore` */
  readonly area: Quantity | null;
  readonly discharge: Quantity | null;
  /** IEC 60534: flow of water at 1 bar, m3/s. At most one of `area`, `kv`, `conductance` is set. */
  readonly kv: Quantity | null;
  /** IEC 60534 pressure ratio factor for gas. */
  readonly xt: Quantity | null;
  /** ISO 6358 sonic conductance, m3/(s Pa), and critical back-pressure ratio; both or neither. */
  readonly conductance: Quantity | null;
  readonly ratio: Quantity | null;
  /** What passes the shut door: a share of its opening, m2, or m3/(s Pa). */
  readonly leak: { readonly kind: 'share' | 'area' | 'conductance'; readonly value: Quantity } | null;
  /** The most force that its drive gives, N. */
  readonly thrust: Quantity | null;
  readonly rest: Position;
  /** W */
  readonly powerMoving: Quantity | null;
  /** W */
  readonly powerHeld: Quantity | null;
}

/** Chambers and doors along one line, upstream first; `members` are indices into `chambers` and `doors`. */
export interface Stack {
  readonly whole: Source;
  readonly members: readonly StackMember[];
  /** Measured fraction moved per stroke. */
  readonly moves: Quantity | null;
  readonly tight: 'gas' | 'liquid' | null;
}
export interface StackMember {
  readonly kind: 'chamber' | 'door';
  readonly index: number;
  readonly at: Source;
}

/**
 * A volume flow of a gas is `free` (counted at 101 325 Pa and the temperature of the medium) or `actual` (as it is in the chamber);
 * where the text does not say, it is counted at the suction side: free for a feed, actual for a draw. Mass flows: `actual`.
 */
export type VolumeBasis = 'free' | 'actual';

export interface FlowRate {
  /** An amount flow (mol/s, written in normal volumes) is of a gas only. */
  readonly kind: 'mass_flow' | 'volume_flow' | 'amount_flow';
  readonly value: Quantity;
  readonly basis: VolumeBasis;
}

/**
 * A pump: flow against the absolute pressure in its chamber, pressures rising, at least one point. Straight between the points,
 * constant beyond the first and the last.
 */
export interface PumpCurve {
  readonly kind: 'mass_flow' | 'volume_flow';
  readonly basis: VolumeBasis;
  /** Pa; m3/s or kg/s */
  readonly points: readonly { readonly pressure: Quantity; readonly flow: Quantity }[];
  readonly at: Source;
}

export type Sensed = 'pressure' | 'density' | 'mass' | 'level';

export interface Threshold {
  readonly sensed: Sensed;
  readonly side: 'above' | 'below';
  readonly value: Quantity;
}

/** A feed or a draw. */
export interface Line extends Item {
  readonly kind: 'feed' | 'draw';
  /** Index into `chambers`, -1 where unknown. */
  readonly chamber: number;
  readonly rate: FlowRate | null;
  /** Set where it is a pump by curve; then `rate` is null. */
  readonly curve: PumpCurve | null;
  readonly lineLimit: FlowRate | null;
  readonly pumpLimit: FlowRate | null;
  /** W */
  readonly power: Quantity | null;
  readonly only: Threshold | null;
}

export interface Controller {
  readonly style: 'response' | 'scan';
  /** Response per element (response style), or the scan period (scan style). */
  readonly time: TimeValue;
  /** Relative, 0 where not given; already applied to the `min`/`max` of timer presets. */
  readonly timerAccuracy: Quantity | null;
  readonly at: Source | null;
}

/** Two chambers that throwing a switch is meant to connect, with everything between them. */
export interface Vents {
  /** Indices into `chambers`, as written. */
  readonly chambers: readonly [number, number];
  readonly at: Source;
}

export interface Switch extends Item {
  readonly initial: boolean;
  /** Absent where it vents nothing. */
  readonly vents?: Vents;
  readonly minOn: TimeValue | null;
  readonly minOff: TimeValue | null;
  /** Index of its net in the network. */
  readonly net: number;
}

export interface Sensor extends Item {
  /** Index into `chambers`, -1 where unknown. */
  readonly chamber: number;
  readonly on: Threshold | null;
  readonly clears: Threshold | null;
  /** Whether it is on at the start as the stated contents of its chamber say; null where they do not say. */
  readonly initiallyOn?: boolean | null;
  readonly minOn: TimeValue | null;
  readonly minOff: TimeValue | null;
  readonly net: number;
}

export interface Signal extends Item {
  readonly net: number;
  /** Elements of this signal in the network, inner first; the last one gives the signal. */
  readonly elements: readonly number[];
}

export interface Drive {
  readonly kind: 'door' | 'feed' | 'draw';
  /** Index into `doors` or `lines`. */
  readonly target: number;
  /** The net whose value drives it (an element of its own if the drive's expression is more than a name). */
  readonly net: number;
  readonly at: Source;
  readonly whole: Source;
}

export interface Sequence extends Item {
  readonly triggerNet: number | null;
  readonly steps: readonly {
    readonly at: TimeValue;
    readonly open: boolean;
    readonly doors: readonly number[];
    readonly source: Source;
  }[];
  readonly repeatAfter: TimeValue | null;
  /** True where the sequence itself drives its doors (none of them has a `drive`). */
  readonly drives: boolean;
}

/** Argument of a metric, resolved as far as possible; the metric's own file checks kinds and dimensions. */
export type MetricArgument =
  | { readonly kind: 'item'; readonly of: ItemKind; readonly index: number; readonly name: string; readonly at: Source }
  | {
      readonly kind: 'event';
      readonly door: number;
      readonly event: DoorEvent;
      readonly name: string;
      readonly at: Source;
    }
  | { readonly kind: 'quantity'; readonly dimension: string; readonly value: Quantity; readonly at: Source }
  | { readonly kind: 'condition'; readonly condition: Condition; readonly at: Source }
  | { readonly kind: 'unknown'; readonly at: Source };

export type ItemKind =
  | 'chamber'
  | 'door'
  | 'feed'
  | 'draw'
  | 'switch'
  | 'sensor'
  | 'signal'
  | 'sequence'
  | 'scenario'
  | 'part'
  | 'let'
  | 'medium'
  | 'place'
  | 'rig'
  | 'parameter';
export type DoorEvent = 'opens' | 'opened' | 'closes' | 'shuts';

/** Boolean condition over nets and doors (a door by its name stands for "not shut"). */
export type Condition =
  | { readonly op: 'net'; readonly net: number }
  | { readonly op: 'door'; readonly door: number }
  | { readonly op: 'const'; readonly value: boolean }
  | { readonly op: 'not'; readonly a: Condition }
  | { readonly op: 'and' | 'or' | 'xor'; readonly a: Condition; readonly b: Condition };

export interface Requirement {
  /** As written after `require`, white space folded, with `(PLACE)` behind it in a placed part: its name in lists. */
  readonly text: string;
  readonly metric: string;
  readonly metricAt: Source;
  readonly args: readonly MetricArgument[];
  readonly comparison: {
    readonly operator: '<' | '<=' | '>' | '>=' | '=' | '<>' | 'in';
    readonly dimension: string;
    /** For `in`: low and high; otherwise low = high = the value. */
    readonly low: Quantity;
    readonly high: Quantity;
    readonly at: Source;
  } | null;
  /** Index into `scenarios`; null: the default stroke. */
  readonly during: number | null;
  readonly at: Source;
}

/** What is better among rigs that keep every requirement: `prefer least|most METRIC(…)`, in written order. */
export interface Preference {
  /** As written after `prefer`, white space folded, with `(PLACE)` behind it in a placed part. */
  readonly text: string;
  readonly direction: 'least' | 'most';
  readonly metric: string;
  readonly metricAt: Source;
  readonly args: readonly MetricArgument[];
  /** Index into `scenarios`; null: the default stroke. */
  readonly during: number | null;
  readonly at: Source;
}

/**
 * A constant of the rig, its file or an imported file that may be chosen within a range: `let settle = 1.8 s in 500 ms .. 3 s`.
 * Its value as it is now (from outside where overridden) lies within the range; other ranges are reported and left out.
 */
export interface Choosable {
  readonly name: string;
  /** The declared name. */
  readonly at: Source;
  /** The value in the text, to be replaced by what is chosen. */
  readonly valueAt: Source;
  readonly dimension: string;
  /** Times in whole microseconds, as everywhere. */
  readonly value: Quantity;
  readonly low: Quantity;
  readonly high: Quantity;
  /** Whether the value comes from outside the text. */
  readonly overridden: boolean;
}

export interface Scenario extends Item {
  readonly steps: readonly {
    readonly at: TimeValue;
    readonly action: 'feed' | 'draw' | 'switch' | 'sensor' | 'power';
    /** Index into `lines`, `switches` or `sensors`; -1 for power. */
    readonly target: number;
    readonly on: boolean;
    readonly source: Source;
  }[];
  readonly duration: TimeValue | null;
  /** Something of it could not be read: what it brings about is not known. */
  readonly unread?: true;
}

// ---------------------------------------------------------------- the control network

/** Boolean function of nets, computed without delay inside one element. */
export type Logic =
  | { readonly op: 'net'; readonly net: number }
  | { readonly op: 'const'; readonly value: boolean }
  | { readonly op: 'not'; readonly a: Logic }
  | { readonly op: 'and' | 'or' | 'xor'; readonly a: Logic; readonly b: Logic };

export type BlockKind = 'LOGIC' | 'TON' | 'TOF' | 'TP' | 'R_TRIG' | 'F_TRIG' | 'SR' | 'RS' | 'CTU';

/**
 * One element: a block without delay of its own besides its preset, followed by its response (transport delay; response style).
 * `inputs` in the standard's order: LOGIC [x], TON/TOF/TP [IN], R_TRIG/F_TRIG [CLK], SR [S1, R], RS [S, R1], CTU [CU, R].
 */
export interface Element {
  /** Name for people: the signal's name for its outermost element, `signal/TON` (`signal/TON#2`…) for inner ones. */
  readonly name: string;
  readonly kind: BlockKind;
  readonly inputs: readonly Logic[];
  /** TON/TOF/TP only. */
  readonly preset: TimeValue | null;
  /** CTU only: PV. */
  readonly count: number | null;
  /** Zero in scan style. */
  readonly response: TimeValue;
  /** The net it gives. */
  readonly net: number;
  /** The call or the signal's expression. */
  readonly at: Source;
}

export interface Net {
  readonly name: string;
  readonly kind: 'switch' | 'sensor' | 'element';
  /** Index into `switches`, `sensors` or `network.elements`. */
  readonly index: number;
}

/** Elements stand in evaluation order of the text (inner before outer, signals as written): the order of a scan. */
export interface Network {
  readonly nets: readonly Net[];
  readonly elements: readonly Element[];
}

export interface Rig {
  readonly name: string;
  readonly title: string;
  readonly at: Source;
  readonly whole: Source;
  readonly doc: string;
  readonly medium: Medium | null;
  readonly chambers: readonly Chamber[];
  readonly doors: readonly Door[];
  readonly stacks: readonly Stack[];
  readonly lines: readonly Line[];
  readonly supply: { readonly limit: Quantity | null; readonly at: Source } | null;
  readonly controller: Controller;
  readonly switches: readonly Switch[];
  readonly sensors: readonly Sensor[];
  readonly signals: readonly Signal[];
  readonly drives: readonly Drive[];
  readonly sequences: readonly Sequence[];
  readonly requirements: readonly Requirement[];
  /** In written order, the first counts most. */
  readonly preferences: readonly Preference[];
  readonly choosable: readonly Choosable[];
  readonly scenarios: readonly Scenario[];
  readonly network: Network;
  /**
   * Statements of the control (signals, drives, sequences, door times, sensors, stacks, places) that could not be read in full:
   * what stands in their place is not what is meant, so facts about this rig is not reliable while there are any.
   */
  readonly incomplete?: readonly Source[];
  /** A requirement could not be read in full, so that what the text states as meant is not all known. */
  readonly unreadIntent?: boolean;
  /** A statement of the medium, a chamber, a door, a feed or a draw could not be read in full, so that no figure of the contents is the one that is meant. */
  readonly unreadContents?: true;
}
