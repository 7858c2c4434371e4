/** A rig from its text, for tests that start from the language. */
import { readFileSync } from 'node:fs';
import { parse } from '../../grammar/src/api';
import { resolveFile } from '../../server/core/model/resolve';
import type { Rig } from '../../server/core/model/rig';

/** The first rig of a text. The text must resolve without errors. */
export function rigOf(text: string): Rig {
  const { tree, problems } = parse(text);
  if (problems.length > 0) throw new Error(problems.map((p) => p.message).join('\n'));
  const resolution = resolveFile({ uri: 'test.rig', tree, text }, () => null);
  const errors = resolution.problems.filter((p) => p.severity === 'error');
  if (errors.length > 0) throw new Error(errors.map((p) => p.message).join('\n'));
  return resolution.rigs[0];
}

export const sampleRig = (name: string): Rig => rigOf(readFileSync(`samples/${name}.rig`, 'utf8'));
