/** Texts of rigs to resolved rigs, for the tests of everything that starts from one. */
import { parse } from '../../grammar/src/api';
import type { Expression } from '../../grammar/src/ast';
import { resolveFile } from '../../server/core/model/resolve';
import type { Resolution } from '../../server/core/model/resolution';
import type { Rig } from '../../server/core/model/rig';

export interface RigOptions {
  /** Which rig of the text, by name; the first one where not given. */
  readonly name?: string;
  /** Codes of problems that are part of the test; any other code makes `rigFrom` throw. Hints never do. */
  readonly allow?: readonly string[];
  /** Texts of other files by URI, for imports; the text itself is `file:///test.rig`. */
  readonly files?: Readonly<Record<string, string>>;
  readonly overrides?: ReadonlyMap<string, Expression>;
}

export const TEST_URI = 'file:///test.rig';

export interface ResolvedText {
  readonly resolution: Resolution;
  /** `code at line:column "text there": message`, syntax problems first; `code in URI: message` for other files. */
  readonly problems: readonly string[];
}

/** Parses and resolves a text, whatever its problems. */
export function resolveText(text: string, options: RigOptions = {}): ResolvedText {
  const parsed = parse(text);
  const readTree = (uri: string): { tree: typeof parsed.tree; text: string } | null => {
    const other = options.files?.[uri];
    return other === undefined ? null : { tree: parse(other).tree, text: other };
  };
  const resolution = resolveFile({ uri: TEST_URI, tree: parsed.tree, text }, readTree, {
    overrides: options.overrides,
  });
  const syntax = parsed.problems.map(({ code, message, span }) => ({
    code,
    message,
    start: span.start,
    end: span.end,
  }));
  const own = resolution.problems.filter((p) => p.at.uri === TEST_URI);
  const foreign = resolution.problems.filter((p) => p.at.uri !== TEST_URI);
  const others = own.map(({ code, message, at }) => ({ code, message, start: at.start, end: at.end }));
  const problems = [...syntax, ...others].map(
    (p) => `${p.code} at ${lineOf(text, p.start)} "${text.slice(p.start, p.end)}": ${p.message}`,
  );
  for (const { code, at, message } of foreign) problems.push(`${code} in ${at.uri}: ${message}`);
  return { resolution, problems };
}

function lineOf(text: string, offset: number): string {
  const before = text.slice(0, offset).split('\n');
  return `${before.length}:${before[before.length - 1]!.length + 1}`;
}

/** The one rig of a text. Throws with the list of problems where there are any that `allow` does not name. */
export function rigFrom(
  text: string,
  options: RigOptions = {},
): { readonly rig: Rig; readonly resolution: Resolution } {
  const { resolution, problems } = resolveText(text, options);
  const allowed = new Set(['name/unused', 'value/overridden', ...(options.allow ?? [])]);
  const unexpected = problems.filter((problem) => !allowed.has(problem.slice(0, problem.indexOf(' '))));
  if (unexpected.length > 0) throw new Error(`unexpected problems:\n${unexpected.join('\n')}`);
  const rig = resolution.rigs.find((candidate) => options.name === undefined || candidate.name === options.name);
  if (rig === undefined) throw new Error(`no rig ${options.name ?? ''} in the text`);
  return { rig, resolution };
}
