/** Numbers with a decimal comma, and times as IEC 61131-3 writes them (`T#2s500ms`). */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import { Comma, ForeignTime, LeftParen, Newline, NumberLiteral, RightParen, Unit, type RigToken } from '../tokens';
import { inPlaceOf, touches } from './put';
import { say } from '../say';

export function numberSlips(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  if (!tokens.some(({ tokenType }) => tokenType === Comma || tokenType === ForeignTime)) return tokens;
  const out: RigToken[] = [];
  const calls: string[] = [];
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    const before = tokens[i - 1];
    if (token.tokenType === LeftParen) calls.push(before?.kind === 'name' ? before.image : '');
    if (token.tokenType === RightParen) calls.pop();
    if (token.tokenType === Newline) calls.length = 0;
    if (token.tokenType === ForeignTime) out.push(...timeOf(token, problems));
    else if (isDecimalComma(tokens, i, calls)) {
      const [, comma, decimals] = [token, tokens[i + 1]!, tokens[i + 2]!];
      const image = `${token.image}.${decimals.image}`;
      reportComma(token, comma, decimals, problems);
      out.push(inPlaceOf(token, decimals, image, NumberLiteral, 'number'));
      i += 2;
    } else out.push(token);
  }
  return out;
}

const DIGITS = /^\d+$/;

/** `2,5` without blanks. In the arguments of a part two plain numbers may stand so. */
function isDecimalComma(tokens: readonly RigToken[], at: number, calls: readonly string[]): boolean {
  const [first, comma, second, unit] = [tokens[at]!, tokens[at + 1], tokens[at + 2], tokens[at + 3]];
  if (first.tokenType !== NumberLiteral || comma?.tokenType !== Comma || second?.tokenType !== NumberLiteral)
    return false;
  if (!DIGITS.test(first.image) || !DIGITS.test(second.image)) return false;
  if (!touches(first, comma) || !touches(comma, second)) return false;
  return unit?.tokenType === Unit || calls.length === 0;
}

function reportComma(first: RigToken, comma: RigToken, second: RigToken, problems: SyntaxProblem[]): void {
  const span = spanOf(comma);
  const point = { title: say`Write a point`, span, text: '.' };
  // 1,000 may be meant either way; nothing is chosen for the writer.
  const whole = { title: say`Write ${first.image}${second.image}`, span, text: '' };
  const repairs = second.image.length === 3 && first.image !== '0' ? [point, whole] : [point];
  problems.push(syntaxProblem('syntax/number', say`Decimals are written with a point, not a comma.`, span, repairs));
}

const PART = /(\d+(?:\.\d+)?)(d|h|ms|m|us|s)_*/gy;
/** Microseconds. */
const SIZES: Readonly<Record<string, number>> = { d: 864e8, h: 36e8, m: 6e7, s: 1e6, ms: 1e3, us: 1 };

/** Whole microseconds of `T#2s500ms`; null where it is not such a time. */
function microseconds(image: string): number | null {
  const text = image.slice(image.indexOf('#') + 1).toLowerCase();
  let total = 0;
  let end = 0;
  for (const match of text.matchAll(PART)) {
    total += Number(match[1]) * SIZES[match[2]!]!;
    end = match.index + match[0].length;
  }
  return end === text.length && end > 0 && Number.isSafeInteger(Math.round(total)) ? Math.round(total) : null;
}

function timeOf(token: RigToken, problems: SyntaxProblem[]): RigToken[] {
  const us = microseconds(token.image);
  const span = spanOf(token);
  const [number, unit] = us === null ? ['0', 's'] : us % 1e6 !== 0 && us < 1e6 ? [us / 1e3, 'ms'] : [us / 1e6, 's'];
  const text = `${number} ${unit}`;
  const repairs = us === null ? [] : [{ title: say`Write ${text}`, span, text }];
  const such = us === null ? '2.4 s' : text;
  const message = say`A time is a number and a unit, such as ${such}, not ${token.image}.`;
  problems.push(syntaxProblem('syntax/number', message, span, repairs));
  const own = inPlaceOf(token, token, String(number), NumberLiteral, 'number');
  return [own, { ...inPlaceOf(token, token, unit, Unit, 'unit'), startOffset: span.end, width: 0 }];
}
