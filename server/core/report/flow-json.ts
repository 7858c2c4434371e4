/**
 * The facts about flow as plain data for `caisson flow --json`: SI units (kg, Pa, K, m, J, W, s). The shape is kept; its JSON schema is
 * `flow.schema.json` beside this file.
 */
import type { ChamberState, EnergyFacts, Filling, FlowFacts, Rise, StrokeFlow, WorkingPoint } from '../flow/facts';
import type { Rig } from '../model/rig';
import type { RigFacts } from '../run/facts';

export interface StateJson {
  readonly mass: number;
  readonly density: number;
  readonly pressure: number | null;
  readonly level: number | null;
  readonly temperature: number;
}

export interface FlowJson {
  readonly name: string;
  /** Null for a rig that moves no medium, or where it could not be computed. */
  readonly medium: { readonly name: string; readonly law: string; readonly phase: string } | null;
  readonly problems: readonly { readonly severity: string; readonly message: string }[];
  readonly doubts: readonly string[];
  readonly chambers: readonly ({ readonly name: string } & StateJson)[];
  readonly lines: readonly {
    readonly name: string;
    readonly kind: 'feed' | 'draw';
    readonly rate: number | null;
    readonly linesNeeded: number | null;
    readonly pumpsNeeded: number | null;
  }[];
  readonly strokes: readonly StrokeJson[];
  /** Strokes whose figures are withheld, and why. */
  readonly notComputed: readonly { readonly trigger: string; readonly why: string }[];
  readonly emptying: FillingJson | null;
  readonly filling: FillingJson | null;
}

export interface StrokeJson {
  readonly trigger: string;
  readonly interval: number | null;
  readonly gains: readonly { readonly chamber: string; readonly mass: number }[];
  readonly stacks: readonly {
    readonly from: string;
    readonly to: string;
    readonly atStart: number | null;
    readonly atTrigger: number;
    readonly atLimit: number | null;
    readonly ceiling: StateJson | null;
    readonly ceilingNote: string;
    /** By the orifice level; null where it is not computed. */
    readonly orifice: number | null;
  }[];
  /** `to` is null where nothing is left of the pocket: no bound; pressures are null for a packed medium. */
  readonly trapped: readonly {
    readonly doors: readonly string[];
    readonly t: number;
    readonly from: number | null;
    readonly to: number | null;
    readonly unbounded: boolean;
    /** `to` is withheld: the law of the medium does not reach there. */
    readonly beyondLaw: boolean;
  }[];
  readonly shortFills: readonly {
    readonly door: string;
    readonly t: number;
    readonly kind: 'fill' | 'empty';
    readonly fill: number;
  }[];
  /** How it was obtained. */
  readonly obtained: string;
  /** Why no rig can make this stroke; null where it can. */
  readonly impossible: string | null;
  /** Per door: greatest pressure differences (Pa, above 0: upstream is higher), pressure in its pocket while it closes (Pa), power on the contents (W). */
  readonly doors: readonly {
    readonly name: string;
    readonly opening: number;
    readonly closing: number;
    readonly peak: number;
    readonly power: number;
  }[];
  /** Bound of an isothermal answer: no heat to the walls. kg per chamber, J, K. */
  readonly adiabatic: { readonly gains: readonly number[]; readonly work: number; readonly hottest: number } | null;
  readonly keepUp: {
    readonly chamber: string;
    readonly feed: number;
    readonly capacity: number;
    readonly obtained: { readonly capacity: string; readonly keeps: 'followed' };
    readonly at: string;
    readonly keeps: boolean | null;
    /** Why it does not keep up, and the chamber in which it stays. */
    readonly because: { readonly kind: string; readonly chamber: string } | null;
    readonly longestInterval: number;
    readonly settlesAt: StateJson | null;
    readonly highest: StateJson | null;
    /** Feeds of the chamber that their own `only below` ends at its highest state: they hold it there, not the strokes. */
    readonly heldBy: readonly string[];
    /** How it goes on rising, and when a limit is passed if that goes on (seconds from the start). */
    readonly rise: {
      readonly from: StateJson;
      readonly to: StateJson;
      readonly seconds: number;
      readonly limit: { readonly chamber: string; readonly at: number } | null;
    } | null;
  } | null;
  readonly energy: EnergyJson;
  /** Figures that are withheld, with the reason. */
  readonly withheld: readonly string[];
}

export type EnergyJson = Omit<EnergyFacts, 'longer'> & {
  readonly longer: readonly {
    readonly interval: number;
    readonly doorsPerDay: number;
    readonly peak: StateJson | null;
    readonly beyond: string | null;
  }[];
};

export interface FillingJson {
  readonly obtained: 'followed';
  readonly strokes: number;
  readonly seconds: number;
  readonly firstStroke: number | null;
  readonly ended: string;
  readonly energy: number;
  readonly highest: readonly StateJson[];
  readonly lowest: readonly StateJson[];
  readonly overLimit: readonly ({ readonly strokes: number; readonly seconds: number } | null)[];
  /** Why it was followed no further, where the law or the engine ends there. */
  readonly left: string | null;
  /** The working point: means over these strokes and seconds; kg moved, J a day. */
  readonly working: {
    readonly strokes: number;
    readonly seconds: number;
    readonly moved: number;
    readonly energyPerDay: number;
    readonly netPerDay: number;
  } | null;
  /** Chambers that go on being fed at its end, and nothing stops the feed. */
  readonly rising: readonly string[];
  /** kg per chamber over time, thinned. */
  readonly milestones: readonly {
    readonly chamber: string;
    /** Null for the limit of the chamber. */
    readonly sensor: string | null;
    readonly kind: string;
    readonly value: number;
    readonly strokes: number | null;
    readonly seconds: number | null;
  }[];
  readonly points: readonly { readonly seconds: number; readonly strokes: number; readonly mass: readonly number[] }[];
}

/** Facts of one rig as data. */
export function flowJson(facts: RigFacts): FlowJson {
  const { rig, flow } = facts;
  return {
    name: rig.name,
    medium: flow?.medium ? { name: flow.medium.name, law: flow.medium.title, phase: flow.medium.phase } : null,
    problems: (flow?.problems ?? []).map(({ severity, message }) => ({ severity, message })),
    doubts: flow?.doubts ?? [],
    chambers: (flow?.start ?? []).map((state, k) => ({ name: rig.chambers[k]!.name, ...stateJson(state) })),
    lines: (flow?.lines ?? []).map((line) => {
      const { name, kind } = rig.lines[line.line]!;
      return { name, kind, rate: line.rate, linesNeeded: line.lines, pumpsNeeded: line.pumps };
    }),
    strokes: (flow?.strokes ?? []).map((stroke) => strokeJson(facts, flow!, stroke)),
    notComputed: (flow?.notComputed ?? []).map(({ stroke, why }) => ({
      trigger: facts.timing.strokes[stroke]!.trigger.name,
      why,
    })),
    emptying: flow?.emptying ? fillingJson(rig, flow.emptying) : null,
    filling: flow?.filling ? fillingJson(rig, flow.filling) : null,
  };
}

export const stateJson = ({ mass, density, pressure, level, temperature }: ChamberState): StateJson => ({
  mass,
  density,
  pressure,
  level,
  temperature,
});
const stateOrNull = (state: ChamberState | null): StateJson | null => state && stateJson(state);

function strokeJson({ rig, timing }: RigFacts, flow: FlowFacts, stroke: StrokeFlow): StrokeJson {
  const detail = flow.detail(stroke.stroke);
  const name = (k: number): string => rig.chambers[k]!.name;
  const { energy } = stroke;
  const isBeyond = (pressure: number | null): boolean =>
    pressure !== null && pressure !== Infinity && pressure > flow.medium!.mostPressure;
  return {
    trigger: timing.strokes[stroke.stroke]!.trigger.name,
    interval: stroke.interval,
    gains: stroke.gains.map((mass, k) => ({ chamber: name(k), mass })),
    stacks: stroke.stacks.map((s) => ({
      from: name(s.from),
      to: name(s.to),
      atStart: s.atStart,
      atTrigger: s.atTrigger,
      atLimit: s.atLimit,
      // What the law does not carry is given nowhere.
      ceiling: s.ceilingNote ? null : stateOrNull(s.ceiling),
      ceilingNote: s.ceilingNote,
      orifice: detail?.stacks.find((d) => d.stack === s.stack)?.moved ?? null,
    })),
    trapped: stroke.trapped.map((t) => ({
      doors: doorNames(rig, t.doors),
      t: t.t / 1e6,
      from: t.from,
      to: t.to === Infinity || isBeyond(t.to) ? null : t.to,
      unbounded: t.to === Infinity,
      beyondLaw: isBeyond(t.to),
    })),
    shortFills: (detail?.shortFills ?? []).map(({ door, t, kind, fill }) => ({
      door: rig.doors[door]!.name,
      t: t / 1e6,
      kind,
      fill,
    })),
    obtained: stroke.obtained,
    impossible: stroke.impossible,
    doors: rig.doors.map(({ name: door }, k) => ({
      name: door,
      opening: stroke.loads.opening[k]!,
      closing: stroke.loads.closing[k]!,
      peak: stroke.loads.peak[k]!,
      power: stroke.loads.power[k]!,
    })),
    adiabatic: stroke.adiabatic && {
      gains: stroke.adiabatic.gains,
      work: stroke.adiabatic.work,
      hottest: Math.max(...stroke.adiabatic.hottest),
    },
    keepUp: stroke.keepUp && keepUpJson(rig, stroke, stroke.keepUp),
    energy: { ...energy, longer: energy.longer.map((l) => ({ ...l, peak: stateOrNull(l.peak) })) },
    withheld: stroke.withheld,
  };
}

function keepUpJson(
  rig: Rig,
  { obtained }: StrokeFlow,
  keepUp: NonNullable<StrokeFlow['keepUp']>,
): NonNullable<StrokeJson['keepUp']> {
  const name = (k: number): string => rig.chambers[k]!.name;
  return {
    chamber: name(keepUp.chamber),
    feed: keepUp.feed,
    capacity: keepUp.capacity,
    obtained: { capacity: obtained, keeps: 'followed' },
    at: keepUp.at,
    keeps: keepUp.keeps,
    because: keepUp.because && { kind: keepUp.because.kind, chamber: name(keepUp.because.chamber) },
    longestInterval: keepUp.longestInterval,
    settlesAt: stateOrNull(keepUp.settlesAt),
    highest: stateOrNull(keepUp.highest),
    heldBy: keepUp.heldBy.map((line) => rig.lines[line]!.name),
    rise: keepUp.rise && riseJson(rig, keepUp.rise),
  };
}

const riseJson = (rig: Rig, { from, to, seconds, limit }: Rise): NonNullable<StrokeJson['keepUp']>['rise'] => ({
  from: stateJson(from),
  to: stateJson(to),
  seconds,
  limit: limit && { chamber: rig.chambers[limit.chamber]!.name, at: limit.at },
});

const doorNames = (rig: Rig, doors: readonly number[]): string[] => doors.map((door) => rig.doors[door]!.name);

function workingJson({ strokes, seconds, moved, energy }: WorkingPoint): FillingJson['working'] {
  const { total, back } = energy;
  const perDay = 86_400 / seconds;
  return { strokes, seconds, moved, energyPerDay: total * perDay, netPerDay: (total - back) * perDay };
}

function fillingJson(rig: Rig, filling: Filling): FillingJson {
  return {
    obtained: 'followed',
    strokes: filling.strokes,
    seconds: filling.seconds,
    firstStroke: filling.firstStroke === null ? null : filling.firstStroke / 1e6,
    ended: filling.ended,
    energy: filling.energy.total,
    highest: filling.highest.map(stateJson),
    lowest: filling.lowest.map(stateJson),
    overLimit: filling.overLimit.map((p) => p && { strokes: p.strokes, seconds: p.t / 1e6 }),
    left: filling.left,
    working: filling.working && workingJson(filling.working),
    rising: filling.rising.map((chamber) => rig.chambers[chamber]!.name),
    milestones: filling.milestones.map(({ chamber, sensor, kind, value, reached }) => ({
      chamber: rig.chambers[chamber]!.name,
      sensor: sensor === null ? null : rig.sensors[sensor]!.name,
      kind,
      value,
      strokes: reached?.strokes ?? null,
      seconds: reached ? reached.t / 1e6 : null,
    })),
    points: filling.points.map((p) => ({ seconds: p.t / 1e6, strokes: p.strokes, mass: p.mass })),
  };
}
