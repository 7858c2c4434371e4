/** Writing a changed time back into the text, in the unit the user wrote. */
import { quantityText } from '../../../grammar/src/quantity-text';
import type { TextEdit } from '../model/problem';
import type { Declaration, Resolution } from '../model/resolution';
import { timeLiteral, unitNamed } from '../units/units';
import { parseFraction } from '../units/rational';
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
  const text = readText(declaration.whole.uri)?.slice(declaration.whole.start, declaration.whole.end);
  const equals = text?.indexOf('=') ?? -1;
  if (text === undefined || equals < 0) return null;
  const lead = /^\s*/.exec(text.slice(equals + 1))![0].length;
  const start = declaration.whole.start + equals + 1 + lead;
  const old = text.slice(equals + 1 + lead).trimEnd();
  const text2 = rewritten(old, value);
  if (text2 === null || isOverridden(resolution, declaration)) return null;
  return [{ at: { uri: declaration.whole.uri, start, end: start + old.length }, text: text2 }];
}

/** Whether a constant has another value than the text says: changing the text would have no effect. */
function isOverridden(resolution: Resolution, { at }: Declaration): boolean {
  return resolution.problems.some((p) => p.code === 'value/overridden' && sameSource(p.at, at));
}

/** `settle` becomes `settle + 150 ms`; not where a tolerance would swallow the sum. */
function sumEdits(written: string, literal: TimeLiteral, value: number): TextEdit[] | null {
  if (written.includes('+-') || written.includes('#') || written.trim() === '') return null;
  const change = value - literal.value;
  const text = `${written} ${change < 0 ? '-' : '+'} ${timeLiteral(Math.abs(change))}`;
  return [{ at: literal.at, text }];
}
