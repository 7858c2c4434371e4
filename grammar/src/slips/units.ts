/** `8 g / s`: a unit with blanks around its stroke. */
import type { SyntaxProblem } from '../ast';
import { spanOf } from '../lexer';
import { syntaxProblem } from '../reporter';
import { isWord, LeftParen, Unit, type RigToken } from '../tokens';
import { declaredNames } from './expressions';
import { inPlaceOf } from './put';
import { say } from '../say';

/** What units are divided by. */
const DIVISORS: ReadonlySet<string> = new Set([
  's',
  'min',
  'h',
  'm3',
  'L',
  'kg',
  'mol',
  'K',
  'bar',
  'Pa',
  'cm3',
  'ft3',
]);

/** Reads unit, stroke and unit as one where nothing of the text is called like the second. */
export function splitUnits(tokens: readonly RigToken[], problems: SyntaxProblem[]): readonly RigToken[] {
  const isSplit = (i: number): boolean =>
    tokens[i]?.tokenType === Unit &&
    /^[A-Za-z0-9]+$/.test(tokens[i]!.image) &&
    tokens[i + 1]?.image === '/' &&
    tokens[i + 2] !== undefined &&
    isWord(tokens[i + 2]!) &&
    DIVISORS.has(tokens[i + 2]!.image) &&
    tokens[i + 3]?.tokenType !== LeftParen;
  if (!tokens.some((_, i) => isSplit(i))) return tokens;
  const declared = declaredNames(tokens);
  const out: RigToken[] = [];
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    if (!isSplit(i) || declared.has(tokens[i + 2]!.image)) {
      out.push(token);
      continue;
    }
    const image = `${token.image}/${tokens[i + 2]!.image}`;
    const joined = inPlaceOf(token, tokens[i + 2]!, image, Unit, 'unit');
    const span = spanOf(joined);
    const message = say`A unit is written without blanks inside: ${image}.`;
    problems.push(syntaxProblem('syntax/number', message, span, [{ title: say`Write ${image}`, span, text: image }]));
    out.push(joined);
    i += 2;
  }
  return out;
}
