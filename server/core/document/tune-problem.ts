/** From a file to a problem for the tuner: constants with a range, and presets that were freed by hand. */
import { finish, type Work } from '../work/work';
import { parseExpression } from '../../../grammar/src/api';
import type { Expression, Statement } from '../../../grammar/src/ast';
import { timeEdits, unitSize, writtenValue } from '../choose/edit';
import { placeKey, sameSource, withTimes, type TimeLiteral } from '../choose/literals';
import type { TuneProblem, Variable } from '../choose/tune/problem';
import type { Source } from '../model/problem';
import { resolveFile } from '../model/resolve';
import type { Choosable, Rig } from '../model/rig';
import type { ReadText, RigDocument } from './document';
import { createImports } from './imports';
import { syntaxProblems } from './problems';
import { listText } from '../timing/words';
import { say } from '../words/say';

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
  | { readonly ok: false; readonly message: string; readonly nothingFree?: true };

/** What has no range may be turned to a third and to three times what it is. */
const FURTHEST = 3;

/** The problem of one rig of a document (index into its rigs). */
export const tuneProblem = (...asked: Parameters<typeof tuneProblemWork>): FileProblem =>
  finish(tuneProblemWork(...asked));

/** The same in steps of one preset. */
export function* tuneProblemWork(document: RigDocument, index: number, options: FreeOptions): Work<FileProblem> {
  const rig = document.resolved().rigs[index]!;
  const constants = rig.choosable.filter((c) => !options.overrides?.has(c.name));
  const freed = yield* freedPresets(document, rig, constants, options);
  if (typeof freed === 'string') return { ok: false, message: freed };
  const places: Place[] = [
    ...constants.map((choosable): Place => ({ kind: 'constant', choosable })),
    ...freed.map((literal): Place => ({ kind: 'preset', literal })),
  ];
  if (!places.some(isOpen)) {
    const message = say`Nothing in ${rig.name} may be chosen${nothingFree(document, rig, constants)}`;
    return { ok: false, nothingFree: true, message };
  }
  const problem = {
    variables: places.map((p) => variableOf(document, p, options.step)),
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

/** Whether a place can have another value. */
const isOpen = (place: Place): boolean =>
  place.kind === 'preset' || place.choosable.low.nominal < place.choosable.high.nominal;

/** Why nothing may be chosen, as the end of a sentence: what is wrong with the ranges that are stated, or that none is. */
function nothingFree(document: RigDocument, rig: Rig, constants: readonly Choosable[]): string {
  const wrong = statementProblem(document, rig, (s) => s.kind === 'let' && s.range !== null);
  if (wrong) {
    const name = wrong.statement.kind === 'let' ? wrong.statement.name.text : '';
    return say`, as the range of ${name} cannot be used: ${wrong.message}`;
  }
  const [single] = constants;
  if (single) {
    const value = writtenValue('', single.value.nominal, { ...single, value: single.low });
    return say`: the range of ${single.name} is one value, ${value}; give it two ends that differ.`;
  }
  const outside = rig.choosable.map((c) => c.name);
  if (outside.length > 0)
    return outside.length === 1
      ? say`: ${outside[0]!} is given from outside (--let or the setting caisson.constants).`
      : say`: ${listText(outside)} are given from outside (--let or the setting caisson.constants).`;
  return say`: give a constant a range (let settle = 1.8 s in 500 ms .. 3 s), or name presets with --free, or take --all-presets.`;
}

/** The first error of the text inside a statement of a kind, of the rig or of the file; null where there is none. */
export function statementProblem(
  document: RigDocument,
  rig: Rig,
  isAsked: (statement: Statement) => boolean,
): { readonly statement: Statement; readonly message: string; readonly start: number } | null {
  const { statements } = document.parsed().tree;
  const own = statements.find((s) => s.span.start === rig.whole.start && 'body' in s);
  const all = [...(own && 'body' in own ? own.body : []), ...statements].filter(isAsked);
  const problems = [...syntaxProblems(document.uri, document.parsed().problems), ...document.resolved().problems];
  for (const statement of all) {
    const { start, end } = statement.span;
    const found = problems.find(
      (p) => p.severity === 'error' && p.at.uri === document.uri && p.at.start >= start && p.at.end <= end,
    );
    if (found) return { statement, message: found.message, start: found.at.start };
  }
  return null;
}

function* freedPresets(
  document: RigDocument,
  rig: Rig,
  constants: readonly Choosable[],
  options: FreeOptions,
): Work<TimeLiteral[] | string> {
  const { free, allPresets } = options;
  if (!allPresets && free.length === 0) return [];
  const leading = leadingConstants(document, rig, constants, options);
  const literals = presetsOf(rig);
  const turned: TimeLiteral[] = [];
  for (const literal of literals) {
    yield;
    const isLed = leading.some((c) => sameSource(c.at, literal.at));
    if (!isLed && isWritable(document, literal)) turned.push(literal);
  }
  if (allPresets) return turned;
  const chosen: TimeLiteral[] = [];
  for (const name of free) {
    const signal = rig.signals.find((s) => s.name === name);
    const isOwn = (l: TimeLiteral): boolean => l.name === name || l.name.startsWith(`${name}/`);
    const own = signal ? turned.filter(isOwn) : [];
    if (own.length === 0) {
      const led = literals.flatMap((l) => (signal && isOwn(l) ? leading.filter((c) => sameSource(c.at, l.at)) : []));
      if (led.length > 0) return say`--free ${name}: its time follows ${led[0]!.name}, which has a range already.`;
      return constants.some((c) => c.name === name)
        ? say`${name} has a range already; leave out --free ${name}.`
        : say`--free ${name}: there is no signal ${name} with a timer in ${rig.name}.`;
    }
    chosen.push(...own.filter((l) => !chosen.some((c) => sameSource(c.at, l.at))));
  }
  return chosen;
}

/**
 * The constant with a range that each preset follows, by the place of the preset: what is chosen for the constant decides it, so that
 * the preset is not chosen beside it. Found by reading the rig with each constant at the ends of its range.
 */
function leadingConstants(
  document: RigDocument,
  rig: Rig,
  constants: readonly Choosable[],
  options: FreeOptions,
): { readonly name: string; readonly at: Source }[] {
  const places = constants.map((choosable): Place => ({ kind: 'constant', choosable }));
  const rigAt = rigsOf(document, rig.name, places, options);
  const now = constants.map((c) => c.value.nominal);
  return constants.flatMap(({ name, low, high }, k) =>
    [low.nominal, high.nominal].flatMap((end) => {
      const elements = rigAt(now.map((value, j) => (j === k ? end : value)))?.network.elements ?? [];
      return rig.network.elements.flatMap(({ preset }, i) => {
        const other = elements[i]?.preset;
        return preset && other && other.nominal !== preset.nominal ? [{ name, at: preset.at }] : [];
      });
    }),
  );
}

/** Whether another time can be written in its place. */
function isWritable(document: RigDocument, literal: TimeLiteral): boolean {
  return timeEdits(document.resolved(), readerOf(document), literal, literal.value + 10_000) !== null;
}

/** Each preset of the text once. */
function presetsOf(rig: Rig): TimeLiteral[] {
  const found = new Map<string, TimeLiteral>();
  for (const { preset, name } of rig.network.elements) {
    if (!preset || preset.nominal === 0) continue;
    const { at, nominal } = preset;
    if (!found.has(placeKey(at))) found.set(placeKey(at), { at, value: nominal, name });
  }
  return [...found.values()];
}

function variableOf(document: RigDocument, place: Place, step: number): Variable {
  if (place.kind === 'preset') {
    const { name, value } = place.literal;
    const low = Math.max(step, Math.floor(value / FURTHEST / step) * step);
    return { name, dimension: 'time', low: Math.min(low, value), high: value * FURTHEST, now: value, step };
  }
  const { name, dimension, low, high, value, valueAt } = place.choosable;
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
        : readableStep(width || Math.abs(value.nominal) || 1, unitSize(textAt(document, valueAt))),
  };
}

/** About a hundredth of a range, as a one, a two or a five with zeros of the unit that it is written in. */
function readableStep(width: number, unit: number): number {
  const rough = width / unit / 100;
  const power = 10 ** Math.floor(Math.log10(rough));
  const digit = rough / power < 1.5 ? 1 : rough / power < 3.5 ? 2 : rough / power < 7.5 ? 5 : 10;
  return digit * power * unit;
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
  const written = places.map((p) => (p.kind === 'constant' ? textAt(document, p.choosable.valueAt) : ''));
  const known = new Map<string, Rig | null>();
  return (values) => {
    const key = values.join();
    const kept = known.get(key);
    if (kept !== undefined) return kept;
    const given = new Map(overrides ?? []);
    places.forEach((place, k) => {
      if (place.kind === 'constant')
        given.set(
          place.choosable.name,
          parseExpression(writtenValue(written[k]!, values[k]!, place.choosable)).expression,
        );
    });
    const resolution = resolveFile(file, imports.readTree, { overrides: given });
    let rig: Rig | null = resolution.rigs.find((r) => r.name === name) ?? null;
    if (errors(resolution.problems) > before) rig = null;
    const turned = places.flatMap((place, k) =>
      place.kind === 'preset' ? [[placeKey(place.literal.at), values[k]!] as const] : [],
    );
    if (rig) rig = withTimes(rig, new Map(turned));
    if (known.size > KEPT) known.clear();
    known.set(key, rig);
    return rig;
  };
}

/** Reads this document as it is open, every other file as it is imported. */
export const readerOf =
  (document: RigDocument): ReadText =>
  (uri) =>
    uri === document.uri ? document.text : document.readText(uri);

/** The text of a place; empty where that text cannot be read. */
export function textAt(document: RigDocument, { uri, start, end }: Source): string {
  return readerOf(document)(uri)?.slice(start, end) ?? '';
}
