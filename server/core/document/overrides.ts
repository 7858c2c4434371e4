/** Constants given from outside (`--let NAME=VALUE`, the setting `caisson.constants`): texts to expressions. */
import { parseExpression } from '../../../grammar/src/api';
import type { Expression } from '../../../grammar/src/ast';
import type { Problem } from '../model/problem';
import type { Resolution } from '../model/resolution';
import { say } from '../words/say';

export interface Overrides {
  readonly expressions: ReadonlyMap<string, Expression>;
  /** One per text that is not an expression, at the start of the file: the text itself is in no file. */
  readonly problems: readonly Problem[];
}

/** Parses every given text; one that does not parse is left out with a problem naming it. */
export function parseOverrides(uri: string, constants: Readonly<Record<string, string>>): Overrides {
  const expressions = new Map<string, Expression>();
  const problems: Problem[] = [];
  for (const [name, text] of Object.entries(constants)) {
    const { expression, problems: found } = parseExpression(text);
    if (found.length === 0) {
      expressions.set(name, expression);
      continue;
    }
    const message = say`The value given for \`${name}\` from outside, \`${text}\`, cannot be read: ${found[0]!.message}`;
    problems.push({ code: 'value/override', severity: 'error', message, at: { uri, start: 0, end: 0 } });
  }
  return { expressions, problems };
}

/** The problem of each constant whose value differs from its text. */
export function overriddenConstants({ problems }: Resolution): Problem[] {
  return problems.filter((p) => p.code === 'value/overridden');
}

/** One sentence that names all such constants, for whatever is shown or exported; empty where there is none. */
export function overrideNote(resolution: Resolution): string {
  const found = overriddenConstants(resolution);
  return found.length === 0 ? '' : say`Not the values of the text: ${found.map((p) => p.message).join(' ')}`;
}
