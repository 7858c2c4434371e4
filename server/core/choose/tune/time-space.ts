/** The variables of a problem that are times, as a space of orders of events: every time of the rig as a sum of them. */
import { toleratedRange } from '../../metrics/comparison';
import type { Rig, TimeValue } from '../../model/rig';
import { startOptions } from '../../run/analyse';
import { analyseTiming, timingOf } from '../../timing/analyse';
import type { Space } from '../../timing/orders/cells';
import { constantForm, isConstant, valueAt, type Form } from '../../timing/orders/form';
import { finish, type Work } from '../../work/work';
import { weightOf, type TuneProblem } from './problem';

export interface TimeSpace {
  readonly space: Space;
  /** Index into the problem's variables of each variable of the space. */
  readonly indices: readonly number[];
  /** Bounds of a requirement's comparison as sums. */
  readonly low: (requirement: number) => Form;
  readonly high: (requirement: number) => Form;
  /** The rig with these times, read from the text only where it has to be; null where it does not resolve with them. */
  readonly rigAt: (at: readonly number[]) => Rig | null;
  /** All values of the problem for a point of the space; variables that are not times keep those of the base. */
  readonly valuesAt: (at: readonly number[]) => number[];
}

/** `timeSpaceWork` to its end, whatever it takes. */
export const timeSpace = (problem: TuneProblem, base: readonly number[]): TimeSpace | null =>
  finish(timeSpaceWork(problem, base, { left: Infinity }));

/**
 * Null where no variable is a time, where a time of the rig is not a sum of them (a product of two, say), or where more readings of the rig
 * are needed than are left.
 * @param base values of all variables; those that are not times stay so
 * @param budget readings and runs of a rig of everyday size; what is read is taken from it
 */
export function* timeSpaceWork(
  problem: TuneProblem,
  base: readonly number[],
  budget: { left: number },
): Work<TimeSpace | null> {
  const indices = problem.variables.flatMap((v, k) => (v.dimension === 'time' && v.low < v.high ? [k] : []));
  const rig = problem.rigAt(base);
  if (indices.length === 0 || !rig) return null;
  const readings = (indices.length + 3) * weightOf(rig);
  if (readings > budget.left) {
    budget.left = 0;
    return null;
  }
  budget.left -= readings;
  const n = indices.length;
  const valuesAt = (at: readonly number[]): number[] => {
    const values = base.slice();
    indices.forEach((index, k) => (values[index] = at[k]!));
    return values;
  };
  const at = indices.map((index) => base[index]!);
  const here = numbersOf(rig);
  const forms = here.map((value) => constantForm(n, value));
  for (const [k, index] of indices.entries()) {
    yield;
    const moved = moveOf(problem.variables[index]!, at[k]!);
    const turned = at.map((x, j) => (j === k ? x + moved : x));
    const other = problem.rigAt(valuesAt(turned));
    if (!other) return null;
    numbersOf(other).forEach((value, i) => {
      forms[i]![k] = (value - here[i]!) / moved;
    });
  }
  here.forEach((value, i) => (forms[i]![n] = value - sumOf(forms[i]!, at)));
  const samples = farPoints(problem, indices).map((x) => ({ x, rig: problem.rigAt(valuesAt(x)) }));
  if (!samples.every((s) => s.rig !== null && isSumIn(s.rig, forms, s.x))) return null;
  // Times may also stand where no sum is kept (a scenario, a sequence): then every rig is read from the text.
  const isQuick = samples.every((s) => {
    const made = rigWith(rig, forms, s.x);
    return made !== null && isSameRig(made, s.rig!);
  });
  const rigAt = (x: readonly number[]): Rig | null =>
    (isQuick ? rigWith(rig, forms, x) : null) ?? problem.rigAt(valuesAt(x));
  return {
    ...places(rig, forms),
    indices,
    valuesAt,
    rigAt,
    space: spaceOf(problem, rig, forms, indices, rigAt),
  };
}

const sumOf = (form: Form, at: readonly number[]): number => at.reduce((sum, x, k) => sum + form[k]! * x, 0);

/** A change of a variable that stays in its range: as far as whole milliseconds go, towards the farther end, at most 100 ms. */
function moveOf({ low, high }: { readonly low: number; readonly high: number }, now: number): number {
  const up = high - now >= now - low;
  const room = Math.min(100_000, up ? high - now : now - low);
  const whole = room >= 1000 ? Math.floor(room / 1000) * 1000 : room;
  return up ? whole : -whole;
}

/** Every number that a sum may stand for, in one order: presets, responses, travels, scan, bounds of requirements. */
function numbersOf(rig: Rig): number[] {
  return [
    ...rig.network.elements.map((e) => e.preset?.nominal ?? 0),
    ...rig.network.elements.map((e) => e.response.nominal),
    ...rig.doors.map((d) => d.opensIn.nominal),
    ...rig.doors.map((d) => d.closesIn.nominal),
    rig.controller.time.nominal,
    ...rig.requirements.map((r) => (r.comparison ? toleratedRange(r.comparison).low : 0)),
    ...rig.requirements.map((r) => (r.comparison ? toleratedRange(r.comparison).high : 0)),
  ];
}

function rigWith(rig: Rig, forms: readonly Form[], at: readonly number[]): Rig | null {
  const elements = rig.network.elements.length;
  const doors = rig.doors.length;
  const low = 2 * elements + 2 * doors + 1;
  const high = low + rig.requirements.length;
  let whole = true;
  const moved = <T extends TimeValue | null>(time: T, index: number): T => {
    if (!time || isConstant(forms[index]!)) return time;
    const nominal = valueAt(forms[index]!, at);
    whole &&= Number.isInteger(nominal) && nominal >= 0;
    const by = nominal - time.nominal;
    return { ...time, nominal, min: time.min + by, max: time.max + by };
  };
  const made: Rig = {
    ...rig,
    controller: { ...rig.controller, time: moved(rig.controller.time, low - 1) },
    network: {
      ...rig.network,
      elements: rig.network.elements.map((e, k) => ({
        ...e,
        preset: moved(e.preset, k),
        response: moved(e.response, elements + k),
      })),
    },
    doors: rig.doors.map((d, k) => ({
      ...d,
      opensIn: moved(d.opensIn, 2 * elements + k),
      closesIn: moved(d.closesIn, 2 * elements + doors + k),
    })),
  };
  // Bounds that are times of their own are read from the text.
  const bounds = rig.requirements.every((_, k) => isConstant(forms[low + k]!) && isConstant(forms[high + k]!));
  return whole && bounds ? made : null;
}

function places(rig: Rig, forms: readonly Form[]): Pick<TimeSpace, 'low' | 'high'> {
  const before = 2 * rig.network.elements.length + 2 * rig.doors.length + 1;
  return { low: (r) => forms[before + r]!, high: (r) => forms[before + rig.requirements.length + r]! };
}

function spaceOf(
  problem: TuneProblem,
  rig: Rig,
  forms: readonly Form[],
  indices: readonly number[],
  rigAt: (at: readonly number[]) => Rig | null,
): Space {
  const elements = rig.network.elements.length;
  const doors = rig.doors.length;
  const start = startOptions(rig);
  return {
    rig,
    box: {
      low: indices.map((k) => problem.variables[k]!.low),
      high: indices.map((k) => problem.variables[k]!.high),
    },
    times: {
      variables: indices.length,
      preset: (e) => forms[e]!,
      response: (e) => forms[elements + e]!,
      opensIn: (d) => forms[2 * elements + d]!,
      closesIn: (d) => forms[2 * elements + doors + d]!,
      scan: () => forms[2 * elements + 2 * doors]!,
    },
    run: (at) => analyseTiming(rigAt(at) ?? rig, start),
    runWork: (at) => timingOf(rigAt(at) ?? rig, start),
  };
}

/** Two points far from the base, at which the sums are tried. */
function farPoints(problem: TuneProblem, indices: readonly number[]): number[][] {
  return [0.25, 0.75].map((share) =>
    indices.map((k) => {
      const { low, high } = problem.variables[k]!;
      return Math.min(high, Math.max(low, Math.round((low + share * (high - low)) / 1000) * 1000));
    }),
  );
}

const isSumIn = (rig: Rig, forms: readonly Form[], at: readonly number[]): boolean =>
  numbersOf(rig).every((value, i) => Math.abs(value - valueAt(forms[i]!, at)) < 1);

/** Places in the text, and ends of tolerances, which no nominal figure depends on. */
const LEFT_OUT = new Set(['at', 'valueAt', 'whole', 'doc', 'min', 'max', 'choosable']);

/** Whether two rigs are the same but for places in the text and tolerances. */
function isSameRig(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return Object.is(a, b);
  if (a instanceof Map && b instanceof Map) return isSameRig([...a], [...b]);
  const names = (value: object): string[] => Object.keys(value).filter((name) => !LEFT_OUT.has(name));
  const [mine, theirs] = [a as Record<string, unknown>, b as Record<string, unknown>];
  return names(a).length === names(b).length && names(a).every((name) => isSameRig(mine[name], theirs[name]));
}
