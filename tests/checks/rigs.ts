/** Text → the context that checks read; and applying a fix to the text. */
import { parse } from '../../grammar/src/api';
import type { CheckContext } from '../../server/core/checks/check';
import { runChecks } from '../../server/core/checks/registry';
import type { Fix, Problem } from '../../server/core/model/problem';
import { resolveFile } from '../../server/core/model/resolve';
import type { Resolution } from '../../server/core/model/resolution';
import { analyseRig } from '../../server/core/run/analyse';

const URI = 'file:///rig.rig';

export interface Looked {
  readonly text: string;
  readonly resolution: Resolution;
  /** One per rig. */
  readonly contexts: readonly CheckContext[];
  /** Of form and meaning: what is reported before any check runs. */
  readonly mistakes: readonly string[];
  /** Of the checks, all rigs together. */
  readonly problems: readonly Problem[];
}

export function look(text: string): Looked {
  const parsed = parse(text);
  const resolution = resolveFile({ uri: URI, tree: parsed.tree, text }, () => null);
  const read = (uri: string): string | undefined => (uri === URI ? text : undefined);
  const contexts = resolution.rigs.map((rig) => ({ rig, facts: analyseRig(rig), resolution, text: read }));
  const mistakes = [...parsed.problems, ...resolution.problems].map((p) => `${p.code}: ${p.message}`);
  return { text, resolution, contexts, mistakes, problems: contexts.flatMap(runChecks) };
}

/** Codes of warnings and errors, and of information where `all` is asked for by name. */
export function codesOf(looked: Looked, ...alsoInformation: readonly string[]): string[] {
  const counts = (p: Problem): boolean =>
    p.severity === 'error' || p.severity === 'warning' || alsoInformation.includes(p.code);
  return [...new Set(looked.problems.filter(counts).map((p) => p.code))].sort();
}

export function problemsWith(looked: Looked, code: string): Problem[] {
  return looked.problems.filter((p) => p.code === code);
}

/** The text with a fix made. */
export function applyFix(text: string, fix: Fix): string {
  const edits = [...fix.edits].sort((a, b) => b.at.start - a.at.start);
  return edits.reduce((t, e) => t.slice(0, e.at.start) + e.text + t.slice(e.at.end), text);
}
