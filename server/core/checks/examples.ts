/**
 * One example of each code: the lines of its sample in `samples/broken` that are wrong, and the same lines repaired. Shown by `caisson explain`
 * and in REFERENCE.md.
 */
import { EXAMPLES_OF_RIG } from './examples/of-rig';
import { EXAMPLES_OF_TEXT } from './examples/of-text';

/** Lines as they stand in the sample, and what takes their place; an empty one is removed, or only added to. */
export type Change = readonly [faulty: string, repaired: string];

export type Examples = Readonly<Record<string, readonly Change[]>>;

const EXAMPLES: Examples = { ...EXAMPLES_OF_TEXT, ...EXAMPLES_OF_RIG };

/** What is changed in the sample of a code; undefined for a code that needs more than one file or thousands of lines to show. */
export function exampleOf(code: string): readonly Change[] | undefined {
  return EXAMPLES[code];
}

/** The lines of an example, `-` before one that is taken away, `+` before one that comes instead, a blank before one that stays. */
export function exampleLines(changes: readonly Change[]): string[] {
  return changes.flatMap(([faulty, repaired]) => {
    const [was, now] = [linesOf(faulty), linesOf(repaired)];
    const same = sharedStart(was, now);
    return [
      ...was.slice(0, same).map((line) => `  ${line}`),
      ...was.slice(same).map((line) => `- ${line}`),
      ...now.slice(same).map((line) => `+ ${line}`),
    ];
  });
}

const linesOf = (text: string): string[] => (text === '' ? [] : text.split('\n'));

function sharedStart(a: readonly string[], b: readonly string[]): number {
  const differs = a.findIndex((line, k) => line !== b[k]);
  return differs < 0 ? a.length : differs;
}
