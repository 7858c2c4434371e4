/** Writing a changed value back into the text, in the unit the user wrote and with the tolerance as stated. */
import { letValueSpan, quantityText, toleranceText } from '../../../grammar/src/quantity-text';
import type { TextEdit } from '../model/problem';
import type { Declaration, Resolution } from '../model/resolution';
import type { Choosable } from '../model/rig';
import { type DimensionName, DIMENSIONS } from '../units/dimensions';
import { timeLiteral, unitNamed } from '../units/units';
import { parseFraction, toNumber } from '../units/rational';
import { sameSource, type TimeLiteral } from './literals';

export type ReadText = (uri: string) => string | undefined;

/**
 * The edits that make a time in the text `value` microseconds; null where the text has no form that can be changed safely. A
 * constant that only this place uses is changed where it is declared; one used elsewhere too gets a sum: `settle + 150 ms`.
 */
export function timeEdits(
  resolution: Resolution,
  readText: ReadText,
  literal: TimeLiteral,
  value: number,
): TextEdit[] | null {
  const { at } = literal;
  const written = readText(at.uri)?.slice(at.start, at.end);
  if (written === undefined || value < 0) return null;
  const direct = rewritten(written, value);
  if (direct !== null) return [{ at, text: direct }];
  return declarationEdits(resolution, readText, literal, value) ?? sumEdits(written, literal, value);
}

/**
 * The text of a constant that may be chosen with another value: what is tried and what is written are this one text. A literal keeps its
 * unit and blank, anything else becomes a literal; a tolerance stays as it is stated, one inside a sum becomes that of the whole.
 * @param written the value as it stands in the text; empty where it stands nowhere
 * @param value microseconds for times, SI units otherwise
 */
export function writtenValue(
  written: string,
  value: number,
  { dimension, value: now }: Pick<Choosable, 'dimension' | 'value'>,
): string {
  const literal = dimension === 'time' ? rewritten(written, Math.round(value)) : inSameUnit(written, value, dimension);
  if (literal !== null) return literal;
  const tolerance = toleranceText(written)?.tolerance ?? statedTolerance(now, dimension);
  return valueLiteral(value, dimension) + (tolerance === null ? '' : ` +- ${tolerance}`);
}

/** A value as text of the language: `1.8 s`, `0.25 m3`. */
function valueLiteral(value: number, dimension: string): string {
  if (dimension === 'time') return timeLiteral(Math.round(value));
  const { base } = DIMENSIONS[dimension as DimensionName];
  return dimension === 'none' ? decimal(value) : `${decimal(value)} ${base}`;
}

/** Twelve figures: what arithmetic in binary adds to a decimal is left out. */
const decimal = (value: number): string => Number(value.toPrecision(12)).toString();

function inSameUnit(written: string, value: number, dimension: string): string | null {
  const quantity = quantityText(written);
  if (!quantity) return null;
  const { span, blank, unit } = quantity;
  const known = unit === '' ? null : unitNamed(unit);
  if (unit === '' ? dimension !== 'none' : known?.dimension !== dimension) return null;
  const offset = known?.offset === undefined ? 0 : toNumber(parseFraction(known.offset));
  const number = decimal((value - offset) / unitSize(written));
  return `${written.slice(0, span.start)}${number}${blank}${unit}${written.slice(span.end)}`;
}

/** How much one of the unit is that a literal is written in, in SI; 1 where the text is not a literal or has no unit. */
export function unitSize(written: string): number {
  const unit = unitNamed(quantityText(written)?.unit ?? '');
  return unit ? toNumber(parseFraction(unit.factor)) : 1;
}

function statedTolerance({ nominal, max }: Choosable['value'], dimension: string): string | null {
  return max > nominal ? valueLiteral(max - nominal, dimension) : null;
}

/** `1.8 s` with another value: same unit, same blank, a tolerance behind it kept; null where it is not a literal. */
export function rewritten(written: string, value: number): string | null {
  const quantity = quantityText(written);
  if (!quantity || unitNamed(quantity.unit)?.dimension !== 'time') return null;
  const { span, blank, unit } = quantity;
  const number = inUnit(value, unit);
  const literal = number === null ? timeLiteral(value) : `${number}${blank}${unit}`;
  return written.slice(0, span.start) + literal + written.slice(span.end);
}

/** The number that is `value` microseconds in a unit of time, as a short decimal; null where it has no exact one. */
function inUnit(value: number, unit: string): string | null {
  const factor = parseFraction(unitNamed(unit)!.factor);
  // value / 10^6 seconds, over the factor: numerator and denominator as whole numbers.
  const numerator = BigInt(value) * factor.d;
  const denominator = 1_000_000n * factor.n;
  for (let decimals = 0; decimals <= 6; decimals++) {
    const scaled = numerator * 10n ** BigInt(decimals);
    if (scaled % denominator !== 0n) continue;
    const digits = (scaled / denominator).toString().padStart(decimals + 1, '0');
    return decimals === 0 ? digits : `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
  }
  return null;
}

function declarationEdits(
  resolution: Resolution,
  readText: ReadText,
  literal: TimeLiteral,
  value: number,
): TextEdit[] | null {
  const { at } = literal;
  const use = resolution.uses.find((u) => u.at.uri === at.uri && u.at.start === at.start && u.at.end === at.end);
  const declaration = use && resolution.declarations.find((d) => d.id === use.declaration && d.kind === 'let');
  if (!declaration || resolution.uses.filter((u) => u.declaration === declaration.id).length !== 1) return null;
  const { uri, start } = declaration.whole;
  const text = readText(uri)?.slice(start, declaration.whole.end) ?? '';
  const span = letValueSpan(text);
  if (!span || isOverridden(resolution, declaration)) return null;
  const changed = rewritten(text.slice(span.start, span.end), value);
  return changed === null ? null : [{ at: { uri, start: start + span.start, end: start + span.end }, text: changed }];
}

/** Whether a constant has another value than the text says: changing the text would have no effect. */
function isOverridden(resolution: Resolution, { at }: Declaration): boolean {
  return resolution.problems.some((p) => p.code === 'value/overridden' && sameSource(p.at, at));
}

/** `settle` becomes `settle + 150 ms`, `settle +- 2 %` becomes `(settle + 150 ms) +- 2 %`; null where a comment stands between. */
function sumEdits(written: string, literal: TimeLiteral, value: number): TextEdit[] | null {
  if (written.includes('#') || written.trim() === '') return null;
  const change = value - literal.value;
  const parts = toleranceText(written);
  const sum = `${parts?.nominal ?? written} ${change < 0 ? '-' : '+'} ${timeLiteral(Math.abs(change))}`;
  return [{ at: literal.at, text: parts ? `(${sum}) +- ${parts.tolerance}` : sum }];
}
