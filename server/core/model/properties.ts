/** The properties of one statement, looked up by keyword and read as quantities, times or words. */
import type { Property, Span } from '../../../grammar/src/ast';
import { PROPERTIES, type PropertySpec } from '../../../grammar/src/vocabulary';
import { describe, type DimensionName } from '../units/dimensions';
import { type At, type Context, place, report, type Scope } from './context';
import { type Instead, quantityOf, type Range, timeOf } from './quantities';
import type { Fix } from './problem';
import { RANGES } from './ranges';
import type { Quantity, TimeValue } from './rig';
import { say } from '../words/say';

export interface PropertyBag {
  readonly ctx: Context;
  readonly scope: Scope;
  /** Keyword of the statement. */
  readonly statement: string;
  /** Known properties, each stated once. Few, so that looking through them beats a map. */
  readonly found: readonly Property[];
}

const SPECS: ReadonlyMap<string, ReadonlyMap<string, PropertySpec>> = new Map(
  Object.entries(PROPERTIES).map(([statement, list]) => [statement, new Map(list.map((spec) => [spec.keyword, spec]))]),
);

function specOf(statement: string, keyword: string): PropertySpec | undefined {
  return SPECS.get(statement)?.get(keyword);
}

function isSame(a: Property, b: Property, spec: PropertySpec): boolean {
  if (a.keyword.text !== b.keyword.text) return false;
  // Those of different dimensions are distinguished where they are read.
  if (spec.repeatable === true && spec.words.length === 0) return false;
  return spec.repeatable !== true || a.words[0]?.text === b.words[0]?.text;
}

/** Reports something that is stated twice; the first one counts. `whole` is what to remove, where it is more than `again`. */
export function reportRepeated(here: At, what: string, first: Span, again: Span, whole: Span = again): void {
  const { ctx, scope } = here;
  const remove: Fix = { title: say`Remove this one`, edits: [{ at: place(scope, whole), text: '' }] };
  report(ctx, 'value/repeated', say`${what} is stated twice; the first one counts.`, place(scope, again), {
    related: [{ at: place(scope, first), message: say`stated first here` }],
    fixes: [remove],
  });
}

/** Collects the properties of a statement; unknown keywords were reported by the parser and are passed over. */
export function bagOf(here: At, statement: string, properties: readonly Property[]): PropertyBag {
  const { ctx, scope } = here;
  const found: Property[] = [];
  for (const property of properties) {
    const spec = specOf(statement, property.keyword.text);
    if (spec === undefined) continue;
    const first = found.find((other) => isSame(other, property, spec));
    if (first === undefined) found.push(property);
    else reportRepeated(here, property.keyword.text, first.keyword.span, property.keyword.span, property.span);
  }
  return { ctx, scope, statement, found };
}

/** The property of a keyword (and a word after it, where one is given), or undefined. */
export function propertyOf(bag: PropertyBag, keyword: string, word?: string): Property | undefined {
  return bag.found.find((p) => p.keyword.text === keyword && (word === undefined || p.words[0]?.text === word));
}

function rangeOf(bag: PropertyBag, keyword: string): Range | null {
  return RANGES[bag.statement]?.[keyword] ?? null;
}

/** A property's value of one of its dimensions, with which it was. */
export function measured(
  bag: PropertyBag,
  keyword: string,
  word?: string,
): { readonly quantity: Quantity; readonly dimension: DimensionName } | null {
  const property = propertyOf(bag, keyword, word);
  if (property === undefined || property.value === null) return null;
  const dimensions = specOf(bag.statement, keyword)!.dimensions;
  return quantityOf(bag, property.value, dimensions, rangeOf(bag, keyword));
}

/** All values of a property that may stand once for each dimension, such as `limit`; a second one of a dimension is reported. */
export function measuredAll(
  bag: PropertyBag,
  keyword: string,
  instead: Instead = {},
): readonly { readonly quantity: Quantity; readonly dimension: DimensionName }[] {
  const dimensions = specOf(bag.statement, keyword)!.dimensions;
  const found: { quantity: Quantity; dimension: DimensionName; property: Property }[] = [];
  for (const property of bag.found) {
    if (property.keyword.text !== keyword || property.value === null) continue;
    const made = quantityOf(bag, property.value, dimensions, rangeOf(bag, keyword), instead);
    if (made === null) continue;
    const first = found.find((other) => other.dimension === made.dimension);
    if (first === undefined) found.push({ ...made, property });
    else {
      const [one, two] = [first.property.keyword.span, property.keyword.span];
      reportRepeated(bag, say`${keyword} as ${describe(made.dimension)}`, one, two, property.span);
    }
  }
  return found;
}

export function quantity(bag: PropertyBag, keyword: string, word?: string): Quantity | null {
  return measured(bag, keyword, word)?.quantity ?? null;
}

export function time(bag: PropertyBag, keyword: string): TimeValue | null {
  const property = propertyOf(bag, keyword);
  if (property === undefined || property.value === null) return null;
  return timeOf(bag, property.value, rangeOf(bag, keyword));
}

/** The word after a keyword, where it is one of those it takes (others were reported by the parser). */
export function word<W extends string>(bag: PropertyBag, keyword: string, words: readonly W[]): W | null {
  const text = propertyOf(bag, keyword)?.words[0]?.text;
  return words.find((w) => w === text) ?? null;
}
