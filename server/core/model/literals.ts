/** Numbers with units as they are written → exact amounts; units that are missing or unknown, times that are too fine or too long. */
import type { QuantityLiteral } from '../../../grammar/src/ast';
import { describe, type DimensionName } from '../units/dimensions';
import { type Rational, toNumber } from '../units/rational';
import { AMBIGUOUS_UNITS, COMMON_SLIPS, type Unit, UNITS } from '../units/table';
import { timeLiteral, unitNamed, unitsOf } from '../units/units';
import { type Amount, type Literal, readLiteral } from './amounts';
import { type At, type Context, excerpt, place, report } from './context';
import { suggest, suggestionOf } from './near-match';
import type { Fix, Source } from './problem';
import { said, say } from '../words/say';

/** Dimensions that a place takes; only units of these are suggested there. Absent: any. */
export type Wanted = readonly DimensionName[] | undefined;

export function evaluateLiteral(
  here: At,
  literal: QuantityLiteral,
  as: 'value' | 'difference',
  wanted?: Wanted,
): Amount | null {
  const { ctx, scope } = here;
  const unit = literal.unit?.text ?? null;
  if (unit === '') return null;
  const read = literalOf(ctx, literal.number, unit);
  if (!read.ok) {
    if (read.reason === 'unit') return unknownUnit(here, literal, wanted);
    const message = say`This number has too many digits to be a quantity.`;
    report(ctx, 'value/out-of-range', message, place(scope, literal.numberSpan));
    return null;
  }
  if (read.time !== null && typeof read.time !== 'number') {
    const at = place(scope, literal.span);
    return refuseTime(ctx, read.value.nominal, read.time, at, excerpt(scope, literal.span));
  }
  return as === 'value' ? read.value : read.difference;
}

function literalOf(ctx: Context, number: string, unit: string | null): Literal {
  const key = unit ?? '';
  let known = ctx.literals.get(key);
  if (known === undefined) ctx.literals.set(key, (known = new Map()));
  let literal = known.get(number);
  if (literal === undefined) known.set(number, (literal = readLiteral(number, unit)));
  return literal;
}

/** A piece of a unit as it is written here: `g/sec` is `g/s`. */
const unitWord = (word: string): string => (Object.hasOwn(COMMON_SLIPS, word) ? COMMON_SLIPS[word]! : word);

function unknownUnit(here: At, literal: QuantityLiteral, wanted: Wanted): null {
  const { ctx, scope } = here;
  const { text, span } = literal.unit!;
  const at = place(scope, span);
  const ambiguous = Object.hasOwn(AMBIGUOUS_UNITS, text) ? AMBIGUOUS_UNITS[text]! : null;
  if (ambiguous !== null) {
    const choices = ambiguous.meant.map((name): Fix => ({
      title: say`Change to ${name}`,
      edits: [{ at, text: name }],
    }));
    report(ctx, 'unit/unknown', say`${text} is not a known unit: ${ambiguous.why}.`, at, { fixes: choices });
    return null;
  }
  const fits = (unit: Unit): boolean => wanted === undefined || wanted.includes(unit.dimension);
  const slip = unitNamed(unitWord(text)) ?? unitNamed(text.split('/').map(unitWord).join('/'));
  const fitting = UNITS.filter(fits).map((u) => u.name);
  const names = [...fitting.filter((name) => name.startsWith(text)), ...fitting];
  const near = slip !== null && fits(slip) ? suggestionOf(slip.name, at) : suggest(text, names, at);
  if (near.fixes.length > 0 || wanted === undefined || names.length === 0) {
    report(ctx, 'unit/unknown', say`${text} is not a known unit.${near.question}`, at, { fixes: near.fixes });
    return null;
  }
  const likely = wanted.flatMap((dimension) => unitsOf(dimension).slice(0, wanted.length > 1 ? 2 : 4));
  const such = likely.map((u) => u.name).join(', ');
  const fixes = likely
    .slice(0, 3)
    .map((u): Fix => ({ title: say`Change to ${u.name}`, edits: [{ at, text: u.name }] }));
  report(ctx, 'unit/unknown', say`${text} is not a known unit; ${oneOf(wanted)} is needed here, in ${such}.`, at, {
    fixes,
  });
  return null;
}

/** Reports a time that is not a whole number of microseconds within bounds. */
export function refuseTime(
  ctx: Context,
  seconds: Rational,
  why: 'too-fine' | 'out-of-range',
  at: Source,
  written: string,
): null {
  if (why === 'too-fine') {
    const us = toNumber(seconds) * 1e6;
    const size = `${Number(us.toPrecision(9))} us`;
    const rounded = timeLiteral(Math.max(1, Math.round(us)));
    report(
      ctx,
      'value/too-fine',
      size === written
        ? say`${written} is not a whole number of microseconds, the finest time there is.`
        : say`${written} is ${size}, not a whole number of microseconds, the finest time there is.`,
      at,
      {
        fixes: us > 0 ? [{ title: say`Change to ${rounded}`, edits: [{ at, text: rounded }] }] : [],
      },
    );
  } else {
    report(ctx, 'value/out-of-range', say`${written} is longer than the longest time there is, about 285 years.`, at);
  }
  return null;
}

/** `300` where a time is needed: offers the likeliest units. */
export function missingUnit(here: At, literal: QuantityLiteral, wanted: readonly DimensionName[]): void {
  const { ctx, scope } = here;
  const at = place(scope, literal.span);
  const units = wanted.flatMap((dimension) => unitsOf(dimension).slice(0, 3));
  const end: Source = { ...at, start: literal.numberSpan.end, end: literal.numberSpan.end };
  const fixes: Fix[] = units.map((u) => ({
    title: say`Add the unit ${u.name} (${said(u.doc)})`,
    edits: [{ at: end, text: ` ${u.name}` }],
  }));
  const message =
    units[0] === undefined
      ? say`${literal.number} has no unit; ${oneOf(wanted)} is needed here.`
      : say`${literal.number} has no unit; ${oneOf(wanted)} is needed here, such as ${literal.number} ${units[0].name}.`;
  report(ctx, 'unit/missing', message, at, { fixes });
}

/** `a pressure, a density or a mass` */
export function oneOf(dimensions: readonly DimensionName[]): string {
  const words = dimensions.map(describe);
  return words.length < 2 ? words.join('') : say`${words.slice(0, -1).join(', ')} or ${words[words.length - 1]!}`;
}
