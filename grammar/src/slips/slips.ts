/**
 * Slips of the pen that are understood anyway: habits from other languages and other keyboards. Runs between lexer and layout, so that
 * each is one message with its fix and nothing after it suffers. Gives the tokens that are parsed on; the tokens of the text itself
 * stay as they were written.
 */
import type { SyntaxProblem } from '../ast';
import { Comment, type RigToken } from '../tokens';
import { bracesFor } from './braces';
import { missingCommas } from './commas';
import { commentSlips } from './comments';
import { driveWords, namedArguments, splitOperators, stackSigns, wordSlips } from './expressions';
import { mendNames } from './names';
import { numberSlips } from './numbers';
import { stateWords } from './states';
import { textSlips } from './texts';
import { triggerConditions } from './triggers';
import { splitUnits } from './units';

/** What the parser is to read in place of the tokens of a text. */
export interface WithoutSlips {
  readonly tokens: readonly RigToken[];
  readonly problems: readonly SyntaxProblem[];
}

/** Tokens and what was wrong with them; each step takes what the one before gives. */
export type Step = (tokens: readonly RigToken[], problems: SyntaxProblem[]) => readonly RigToken[];

const STEPS: readonly Step[] = [
  numberSlips,
  splitUnits,
  bracesFor,
  mendNames,
  namedArguments,
  stateWords,
  wordSlips,
  splitOperators,
  stackSigns,
  driveWords,
  triggerConditions,
  missingCommas,
];

/** Reads over the slips of a text; linear in its tokens but for uses of names that were corrected. */
export function mendSlips(tokens: readonly RigToken[]): WithoutSlips {
  const problems: SyntaxProblem[] = [];
  commentSlips(tokens, problems);
  textSlips(tokens, problems);
  const own = tokens.filter((token) => token.tokenType !== Comment);
  return { tokens: STEPS.reduce<readonly RigToken[]>((list, step) => step(list, problems), own), problems };
}
