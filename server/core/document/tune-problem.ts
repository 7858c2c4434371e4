/** From a file to a problem for the tuner: constants with a range, and presets that were freed by hand. */
import { parseExpression } from '../../../grammar/src/api';
import type { Expression } from '../../../grammar/src/ast';
import { sameSource, withTime, type TimeLiteral } from '../choose/literals';
import type { TuneProblem, Variable } from '../choose/tune/problem';
import { resolveFile } from '../model/resolve';
import type { Choosable, Rig } from '../model/rig';
import type { DimensionName } from '../units/dimensions';
import { DIMENSIONS } from '../units/dimensions';
import { timeLiteral } from '../units/units';
import type { RigDocument } from './document';
import { createImports } from './imports';

export interface FreeOptions {
  /** Names of constants, or of signals whose presets, may be chosen although no range is stated. */
  readonly free: readonly string[];
  /** Every preset that is written in the rig. */
  readonly allPresets: boolean;
  /** Times come out as multiples of it, µs. */
  readonly step: number;
  /** Constants given from outside. */
  readonly overrides?: ReadonlyMap<string, Expression>;
}

/** What a variable stands for in the text. */
export type Place =
  | { readonly kind: 'constant'; readonly choosable: Choosable }
  | { readonly kind: 'preset'; readonly literal: TimeLiteral };

export type FileProblem =
  | { readonly ok: true; readonly problem: TuneProblem; readonly places: readonly Place[] }
  /** One sentence. */
  | { readonly ok: false; readonly message: string };

/** What has no range may be turned to a third and to three times what it is. */
const FURTHEST = 3;

/** The problem of one rig of a document (index into its rigs). */
export function tuneProblem(document: RigDocument, index: number, options: FreeOptions): FileProblem {
  const rig = document.resolved().rigs[index]!;
  const constants = rig.choosable.filter((c) => !options.overrides?.has(c.name));
  const freed = freedPresets(rig, constants, options);
  if (typeof freed === 'string') return { ok: false, message: freed };
  const places: Place[] = [
    ...constants.map((choosable): Place => ({ kind: 'constant', choosable })),
    ...freed.map((literal): Place => ({ kind: 'preset', literal })),
  ];
  if (places.length === 0)
    return {
      ok: false,
      message: `Nothing in ${rig.name} may be chosen: give a constant a range (let settle = 1.8 s in 500 ms .. 3 s), or name presets with --free, or take --all-presets.`,
    };
  const problem = {
    variables: places.map((p) => variableOf(p, options.step)),
    rigAt: rigsOf(document, rig.name, places, options),
  };
  return { ok: true, problem, places };
}

/** A problem over constants named from outside, whatever ranges the text states; null in the name of one that is not there. */
export function constantsProblem(
  document: RigDocument,
  rigName: string,
  axes: readonly {
    readonly name: string;
    readonly dimension: string;
    readonly low: number;
    readonly high: number;
    readonly step: number;
  }[],
  overrides?: ReadonlyMap<string, Expression>,
): TuneProblem {
  const nowhere = { uri: document.uri, start: 0, end: 0 };
  const places = axes.map(({ name, dimension, low, high }): Place => {
    const quantity = (value: number): Choosable['value'] => ({ nominal: value, min: value, max: value, at: nowhere });
    const choosable = {
      name,
      dimension,
      at: nowhere,
      valueAt: nowhere,
      value: quantity(low),
      low: quantity(low),
      high: quantity(high),
      overridden: false,
    };
    return { kind: 'constant', choosable };
  });
  const options: FreeOptions = { free: [], allPresets: false, step: 1, ...(overrides ? { overrides } : {}) };
  const variables = axes.map((a) => ({ ...a, now: a.low }));
  return { variables, rigAt: rigsOf(document, rigName, places, options) };
}

function freedPresets(
  rig: Rig,
  constants: readonly Choosable[],
  { free, allPresets }: FreeOptions,
): TimeLiteral[] | string {
  const literals = presetsOf(rig).filter((l) => !constants.some((c) => sameSource(c.valueAt, l.at)));
  if (allPresets) return literals;
  const chosen: TimeLiteral[] = [];
  for (const name of free) {
    const signal = rig.signals.find((s) => s.name === name);
    const own = literals.filter((l) => signal && (l.name === name || l.name.startsWith(`${name}/`)));
    if (own.length === 0)
      return constants.some((c) => c.name === name)
        ? `${name} has a range already; leave out --free ${name}.`
        : `--free ${name}: there is no signal ${name} with a timer in ${rig.name}.`;
    chosen.push(...own.filter((l) => !chosen.some((c) => sameSource(c.at, l.at))));
  }
  return chosen;
}

/** Each preset of the text once. */
function presetsOf(rig: Rig): TimeLiteral[] {
  const found: TimeLiteral[] = [];
  for (const { preset, name } of rig.network.elements) {
    if (!preset || preset.nominal === 0 || found.some((f) => sameSource(f.at, preset.at))) continue;
    found.push({ at: preset.at, value: preset.nominal, name });
  }
  return found;
}

function variableOf(place: Place, step: number): Variable {
  if (place.kind === 'preset') {
    const { name, value } = place.literal;
    const low = Math.max(step, Math.floor(value / FURTHEST / step) * step);
    return { name, dimension: 'time', low: Math.min(low, value), high: value * FURTHEST, now: value, step };
  }
  const { name, dimension, low, high, value } = place.choosable;
  const width = high.nominal - low.nominal;
  return {
    name,
    dimension,
    low: low.nominal,
    high: high.nominal,
    now: value.nominal,
    step:
      dimension === 'time'
        ? Math.max(1, Math.min(step, width || step))
        : readableStep(width || Math.abs(value.nominal) || 1),
  };
}

/** About a hundredth of a range, as a one, a two or a five with zeros. */
function readableStep(width: number): number {
  const rough = width / 100;
  const power = 10 ** Math.floor(Math.log10(rough));
  const digit = rough / power < 1.5 ? 1 : rough / power < 3.5 ? 2 : rough / power < 7.5 ? 5 : 10;
  return digit * power;
}

const KEPT = 500;

function rigsOf(
  document: RigDocument,
  name: string,
  places: readonly Place[],
  { overrides }: FreeOptions,
): (values: readonly number[]) => Rig | null {
  const file = { uri: document.uri, tree: document.parsed().tree, text: document.text };
  const imports = createImports(document.readText);
  const errors = (problems: ReturnType<typeof resolveFile>['problems']): number =>
    problems.filter((p) => p.severity === 'error').length;
  const before = errors(document.resolved().problems);
  const known = new Map<string, Rig | null>();
  return (values) => {
    const key = values.join();
    const kept = known.get(key);
    if (kept !== undefined) return kept;
    const given = new Map(overrides ?? []);
    places.forEach((place, k) => {
      if (place.kind === 'constant')
        given.set(place.choosable.name, expressionOf(values[k]!, place.choosable.dimension));
    });
    const resolution = resolveFile(file, imports.readTree, { overrides: given });
    let rig: Rig | null = resolution.rigs.find((r) => r.name === name) ?? null;
    if (errors(resolution.problems) > before) rig = null;
    places.forEach((place, k) => {
      if (rig && place.kind === 'preset') rig = withTime(rig, place.literal.at, values[k]!);
    });
    if (known.size > KEPT) known.clear();
    known.set(key, rig);
    return rig;
  };
}

function expressionOf(value: number, dimension: string): Expression {
  return parseExpression(valueLiteral(value, dimension)).expression;
}

/** A value as text of the language: `1.8 s`, `0.25 m3`. */
export function valueLiteral(value: number, dimension: string): string {
  if (dimension === 'time') return timeLiteral(Math.round(value));
  const { base } = DIMENSIONS[dimension as DimensionName];
  const number = Number(value.toPrecision(12)).toString();
  return dimension === 'none' ? number : `${number} ${base}`;
}
