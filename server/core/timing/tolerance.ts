/**
 * What tolerances do to a rig's times. Every time that may vary (preset, response, travel, scan) is one parameter with one value
 * for the whole run, so that two doors behind the same timer move together and nothing is counted twice.
 *
 * Worst case: which way each parameter pushes a measure is found by moving it alone to both its ends; the measure is then
 * computed by the event engine with every parameter at its worse end, and once more with each of them turned back, so that a
 * measure whose worst corner is not where the single moves point is still followed. Where the answer is the plain sum of the single
 * effects it is the exact stack-up; where it is not (the order of events changes within the tolerance) this is reported.
 */
import { say } from '../words/say';
import type { Rig } from '../model/rig';
import type { Source } from '../model/problem';
import { timingOf, type TimingOptions } from './analyse';
import { WorkBudget } from '../model/budget';
import { finish, patiently, type Work } from '../work/work';
import type { TimerFacts, TimingFacts } from './facts';
import type { TimeChoice } from './program';

export interface TimeParameter {
  readonly what: 'preset' | 'response' | 'opens' | 'closes' | 'scan';
  /** Index of the element or door; 0 for the scan time. */
  readonly index: number;
  readonly name: string;
  readonly nominal: number;
  readonly min: number;
  readonly max: number;
  readonly at: Source;
}

/** Named numbers read off the facts; whole microseconds, or whatever the measure means. A name may be absent. */
export type Measure = (facts: TimingFacts) => ReadonlyMap<string, number>;

export interface MeasureRange {
  readonly nominal: number | null;
  readonly min: number;
  readonly max: number;
  /** The range is the exact stack-up of single effects. */
  readonly additive: boolean;
  /** The range holds for every value within tolerance, corners or not (`guaranteedRanges`); corners alone guarantee nothing. */
  readonly guaranteed: boolean;
  /** The search of corners ended before all were looked at: the budget of work was used up. */
  readonly cut: boolean;
  /** Somewhere within tolerance the measure does not exist (a door does not open, …). */
  readonly mayBeAbsent: boolean;
  /** Parameters that move it, strongest first, with the change from their lowest to their highest value. */
  readonly causes: readonly { readonly parameter: TimeParameter; readonly effect: number }[];
}

/** All times of a rig that the engine uses, in the order of the text: with and without tolerance. */
export function allTimes(rig: Rig): TimeParameter[] {
  const times: TimeParameter[] = [];
  rig.network.elements.forEach((element, index) => {
    if (element.preset)
      times.push({ what: 'preset', index, name: say`${element.kind} of ${element.name}`, ...element.preset });
    if (rig.controller.style === 'response' && element.response.max > 0) {
      times.push({ what: 'response', index, name: say`response of ${element.name}`, ...element.response });
    }
  });
  rig.doors.forEach((door, index) => {
    times.push({ what: 'opens', index, name: say`opening of ${door.name}`, ...door.opensIn });
    times.push({ what: 'closes', index, name: say`closing of ${door.name}`, ...door.closesIn });
  });
  if (rig.controller.style === 'scan')
    times.push({ what: 'scan', index: 0, name: say`scan time`, ...rig.controller.time });
  return times;
}

/** The times that have a tolerance. */
export function looseTimes(rig: Rig): TimeParameter[] {
  return allTimes(rig).filter((p) => p.min < p.max);
}

/** The engine's choice of times for values of parameters; all other times stay nominal. */
export function choose(rig: Rig, parameters: readonly TimeParameter[], values: readonly number[]): TimeChoice {
  const table = new Map(parameters.map((p, k) => [`${p.what} ${p.index}`, values[k]!]));
  const of = (what: TimeParameter['what'], index: number, nominal: number): number =>
    table.get(`${what} ${index}`) ?? nominal;
  return {
    preset: (e) => of('preset', e, rig.network.elements[e]!.preset!.nominal),
    response: (e) => of('response', e, rig.network.elements[e]!.response.nominal),
    opensIn: (d) => of('opens', d, rig.doors[d]!.opensIn.nominal),
    closesIn: (d) => of('closes', d, rig.doors[d]!.closesIn.nominal),
    scan: () => of('scan', 0, rig.controller.time.nominal),
  };
}

/** Facts about time with other values for some times. */
export const factsWith = (...asked: Parameters<typeof factsWithWork>): TimingFacts => finish(factsWithWork(...asked));

/** The same in steps. */
export function* factsWithWork(
  rig: Rig,
  parameters: readonly TimeParameter[],
  values: readonly number[],
  options: TimingOptions = {},
): Work<TimingFacts> {
  const times = choose(rig, parameters, values);
  const { whenWorked = () => undefined } = options;
  whenWorked(1 + pricePerRun(rig));
  const work = timingOf(rig, { ...options, times });
  let step = work.next();
  for (; !step.done; step = work.next()) {
    whenWorked(1);
    yield;
  }
  const facts = step.value;
  // Facts state presets at nominal values; here they are those of this run, so that margins are, too.
  const strokes = facts.strokes.map((stroke) =>
    instead(stroke, { timers: stroke.timers.map((timer) => timerWith(timer, times.preset?.(timer.element))) }),
  );
  return instead(facts, { strokes });
}

/** Nets up to which a run is cheap beside its steps. */
const FEW = 128;

/** Steps that a run costs before its first one: it grows with the rig, and faster in one of hundreds of doors, whose traces are long. */
const pricePerRun = ({ network: { nets } }: Rig): number => nets.length / 8 + Math.max(0, nets.length - FEW);

/** Facts of a timer that waits `preset`: the facts about time state presets, and what is spared of them, at nominal values. */
function timerWith(timer: TimerFacts, preset = timer.preset): TimerFacts {
  return { ...timer, preset, margin: timer.margin === null ? null : timer.margin + timer.preset - preset };
}

/** The same with some values put over it; what is computed when first read stays so. */
const instead = <T extends object>(base: T, values: Partial<T>): T =>
  Object.create(base, Object.getOwnPropertyDescriptors(values)) as T;

/**
 * Worst-case ranges of every number a measure gives. Runs the engine 2n + 1 times for n loose times, then for each corner met, up to
 * `most` steps of the engine; a range that was not followed to its end says so.
 */
export const worstCase = (...asked: Parameters<typeof worstCaseWork>): Map<string, MeasureRange> =>
  finish(worstCaseWork(...asked));

/** Steps of the engine that a search of corners may cost while a text is being written. */
const MOST_STEPS = 20_000;

/** The same in steps. */
export function* worstCaseWork(
  rig: Rig,
  measure: Measure,
  options: TimingOptions = {},
  most = MOST_STEPS,
): Work<Map<string, MeasureRange>> {
  const study = yield* createStudy(rig, looseTimes(rig), measure, options, new WorkBudget(most));
  // Every name that any of the single runs gives: a door may open only at one end of a range.
  const names = new Set(study.nominal.keys());
  for (const ends of study.single) for (const result of ends) for (const name of result.keys()) names.add(name);
  const ranges = new Map<string, MeasureRange>();
  for (const name of names) {
    ranges.set(name, yield* rangeOf(study, name));
    yield;
  }
  return ranges;
}

/** The runs that all numbers of a measure share: 2n + 1 single ones, and corners as they are asked for. */
interface Study {
  readonly parameters: readonly TimeParameter[];
  readonly nominal: ReadonlyMap<string, number>;
  /** For each parameter the measures with it alone at its lowest and at its highest; shorter where the budget ended first. */
  readonly single: readonly (readonly [ReadonlyMap<string, number>, ReadonlyMap<string, number>])[];
  /** Measures with every parameter at its lowest (false) or highest (true) value, remembered; null where the budget is used up. */
  corner(high: readonly boolean[]): Work<ReadonlyMap<string, number> | null>;
}

function* createStudy(
  rig: Rig,
  parameters: readonly TimeParameter[],
  measure: Measure,
  options: TimingOptions,
  budget: WorkBudget,
): Work<Study> {
  const nominals = parameters.map((p) => p.nominal);
  const { whenWorked = () => undefined } = options;
  const counted: TimingOptions = { ...options, whenWorked: (steps) => (budget.spend(steps), whenWorked(steps)) };
  function* run(values: readonly number[]): Work<ReadonlyMap<string, number>> {
    const facts = yield* factsWithWork(rig, parameters, values, counted);
    return yield* patiently(() => measure(facts));
  }
  const alone = (k: number, value: number): Work<ReadonlyMap<string, number>> =>
    run(nominals.map((n, j) => (j === k ? value : n)));
  const nominal = yield* run(nominals);
  const single: (readonly [ReadonlyMap<string, number>, ReadonlyMap<string, number>])[] = [];
  for (const [k, p] of parameters.entries()) {
    if (budget.isSpent) break;
    single.push([yield* alone(k, p.min), yield* alone(k, p.max)]);
  }
  const corners = new Map<string, ReadonlyMap<string, number>>();
  function* corner(high: readonly boolean[]): Work<ReadonlyMap<string, number> | null> {
    // Many measures point to the same corner: each corner is run once for all of them.
    const key = high.map((h) => (h ? '1' : '0')).join('');
    let result = corners.get(key) ?? null;
    if (result || budget.isSpent) return result;
    result = yield* run(parameters.map((p, k) => (high[k] ? p.max : p.min)));
    corners.set(key, result);
    return result;
  }
  return { parameters, nominal, single, corner };
}

/** The range of one number over the corners that the single effects point to. */
function* rangeOf(study: Study, name: string): Work<MeasureRange> {
  const nominal = study.nominal.get(name) ?? null;
  const effects = study.single.map(([low, high]) => {
    const a = low.get(name);
    const b = high.get(name);
    return a === undefined || b === undefined ? null : { a, b };
  });
  // Which end of each parameter makes the number greater, by itself; a number that turns round inside a range has no such end, which is
  // why corners alone guarantee nothing.
  const upward = effects.map((e) => e !== null && e.b > e.a);
  const isAllMoved = study.single.length === study.parameters.length;
  const ends = [
    yield* followCorner(study, name, pointing(study, upward, false), false),
    yield* followCorner(study, name, pointing(study, upward, true), true),
  ];
  const alone = effects.flatMap((e) => (e ? [e.a, e.b] : []));
  const values = ends.flatMap((e) => (e.value === null ? [] : [e.value])).concat(nominal ?? [], alone);
  const mayBeAbsent = nominal === null || effects.includes(null) || ends.some((e) => e.value === null);
  return {
    nominal,
    min: Math.min(...values),
    max: Math.max(...values),
    additive: isAllMoved && !mayBeAbsent && isStackUp(nominal, effects, ends),
    mayBeAbsent,
    guaranteed: false,
    cut: !isAllMoved || ends.some((e) => e.cut),
    causes: study.parameters
      .slice(0, study.single.length)
      .map((parameter, k) => ({ parameter, effect: effects[k] ? effects[k].b - effects[k].a : 0 }))
      .filter((c) => c.effect !== 0)
      .sort((x, y) => Math.abs(y.effect) - Math.abs(x.effect)),
  };
}

/** The corner at which every parameter is at the end that makes a number greater, or less; what was not moved alone at its highest or lowest. */
const pointing = ({ parameters }: Study, upward: readonly boolean[], upper: boolean): boolean[] =>
  parameters.map((_, k) => (upward[k] ?? true) === upper);

interface End {
  readonly value: number | null;
  /** The budget ended the search. */
  readonly cut: boolean;
}

/** From the corner that the single effects point to, turns parameters back one by one while that makes the measure worse. */
function* followCorner(study: Study, name: string, start: readonly boolean[], upper: boolean): Work<End> {
  // A corner at which the number does not exist is passed by for one where it does: absence is reported apart, by `mayBeAbsent`.
  const worse = (a: number | undefined, b: number | undefined): boolean =>
    a !== undefined && (b === undefined || (upper ? a > b : a < b));
  // One pass of coordinate search over corners. Greedy, hence a first range and not a guarantee: see guarantee.ts.
  let high = [...start];
  const first = yield* study.corner(high);
  let value = first?.get(name);
  if (!first) return { value: null, cut: true };
  for (let k = 0; k < high.length; k++) {
    const turned = high.map((h, j) => (j === k ? !h : h));
    const other = yield* study.corner(turned);
    if (!other) return { value: value ?? null, cut: true };
    if (!worse(other.get(name), value)) continue;
    high = turned;
    value = other.get(name);
  }
  return { value: value ?? null, cut: false };
}

/** Whether both ends are the nominal value with all single effects added up. */
function isStackUp(
  nominal: number,
  effects: readonly ({ a: number; b: number } | null)[],
  ends: readonly End[],
): boolean {
  // Exact where nothing interacts: each parameter pushes the number by the same amount wherever the others stand.
  let low = nominal;
  let high = nominal;
  for (const e of effects) {
    low += Math.min(e!.a - nominal, e!.b - nominal, 0);
    high += Math.max(e!.a - nominal, e!.b - nominal, 0);
  }
  return ends[0]!.value === low && ends[1]!.value === high;
}

// ---------------------------------------------------------------- likely values

/** Random numbers in [0, 1); the caller seeds them, so that a result can be had again. */
export type Random = () => number;

/** Mulberry32: a small generator of known quality for simulations, 2³² period. Same seed, same numbers. */
export function seededRandom(seed: number): Random {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export interface Likely {
  readonly samples: number;
  /** Lowest and highest value met, and the middle 95 % of values. */
  readonly min: number;
  readonly max: number;
  readonly low: number;
  readonly high: number;
  /** Runs in which the measure did not exist. */
  readonly absent: number;
}

/** Draws every loose time evenly from its range, `samples` times. */
export function monteCarlo(
  rig: Rig,
  measure: Measure,
  samples: number,
  random: Random,
  options: TimingOptions = {},
): Map<string, Likely> {
  const parameters = looseTimes(rig);
  const values = new Map<string, number[]>();
  for (let k = 0; k < samples; k++) {
    // Even between the ends: a tolerance in the text is a range and names no distribution, and an even one claims the least about the middle.
    const drawn = parameters.map((p) => p.min + Math.floor(random() * (p.max - p.min + 1)));
    for (const [name, value] of measure(factsWith(rig, parameters, drawn, options))) {
      const list = values.get(name);
      if (list) list.push(value);
      else values.set(name, [value]);
    }
  }
  return new Map([...values].map(([name, list]) => [name, summary(list, samples)]));
}

function summary(list: number[], samples: number): Likely {
  list.sort((a, b) => a - b);
  const at = (fraction: number): number => list[Math.min(list.length - 1, Math.floor(fraction * list.length))]!;
  return {
    samples,
    min: list[0]!,
    max: list[list.length - 1]!,
    low: at(0.025),
    high: at(0.975),
    absent: samples - list.length,
  };
}

/**
 * Interval that holds the true share with 95 % confidence when `hits` of `n` independent runs hit (E. B. Wilson, J. Am. Stat.
 * Assoc. 22, 209, 1927; formula as in R. G. Newcombe, Statist. Med. 17, 857, 1998, method 3). `n` > 0.
 */
export function wilson(hits: number, n: number): readonly [number, number] {
  const z = 1.959963985;
  const p = hits / n;
  const middle = p + (z * z) / (2 * n);
  const spread = z * Math.sqrt((p * (1 - p)) / n + (z * z) / (4 * n * n));
  const whole = 1 + (z * z) / n;
  return [Math.max(0, (middle - spread) / whole), Math.min(1, (middle + spread) / whole)];
}
