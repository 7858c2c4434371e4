/** What may be written at a place of the text. Works from the tokens before it and the names in scope. Needs the resolved phase. */
import { propertiesOf } from '../../../grammar/src/vocabulary';
import { ALLOWABLE } from '../document/allowances';
import { ALL_CODES } from '../document/codes';
import type { RigDocument } from '../document/document';
import { dimensionsExpected, inProperties, inScenario, inSequence, units } from './completion-blocks';
import { inCall } from './completion-calls';
import type { CursorContext } from './completion-context';
import { contextAt } from './completion-context';
import type { CompletionOptions, Draft, Place, Suggestion } from './completion-draft';
import { inStatement } from './completion-statements';
import { said, saidAtAll } from '../words/say';

/** Suggestions in the order in which they are to be shown. */
export function suggestionsAt(document: RigDocument, offset: number, options: CompletionOptions): Suggestion[] {
  const context = contextAt(document.text, document.parsed().tokens, offset);
  if (context.inComment) return allowableCodes(document.text, offset);
  if (context.stringStart >= 0) return importPaths(document, context, offset, options.importable);
  const drafts = draftsFor({ document, offset, context, options });
  if (isComplete(context, drafts, options)) return [];
  return drafts.map((draft) => ({ ...draft, replace: context.replace }));
}

/** Behind `# allow`: the codes of findings. */
function allowableCodes(text: string, offset: number): Suggestion[] {
  const line = text.slice(text.lastIndexOf('\n', offset - 1) + 1, offset);
  const begun = /#+\s*allow(?:-file)?\s+(?:[\w/-]+\s*,\s*)*([\w/-]*)$/.exec(line)?.[1];
  if (begun === undefined) return [];
  const replace = { start: offset - begun.length, end: offset };
  const titles = new Map(ALL_CODES.map((c) => [c.code, c]));
  return ALLOWABLE.map((code) => {
    const { title, explanation } = titles.get(code)!;
    return { label: code, kind: 'constant', detail: said(title), documentation: saidAtAll(explanation), replace };
  });
}

/**
 * Whether a list would only be in the way: what is written is one of the suggestions and begins no other one, or a quantity has its
 * unit. An open list takes the Enter that should end the line, and the Tab that should go to the next field of a snippet.
 */
function isComplete({ before, prefix }: CursorContext, drafts: readonly Draft[], options: CompletionOptions): boolean {
  const last = before.at(-1);
  if (options.afterBlank && last?.kind === 'unit' && before.at(-2)?.kind === 'number') return true;
  if (prefix === '' || !drafts.some((d) => d.label === prefix && d.snippet === undefined)) return false;
  if (last?.kind === 'number') return true;
  const begun = prefix.toLowerCase();
  return !drafts.some((d) => d.label !== prefix && d.label.toLowerCase().startsWith(begun));
}

function draftsFor(place: Place): Draft[] {
  const { context, options } = place;
  const { before, block } = context;
  const last = before.at(-1);
  if (before.length === 0 && options.afterBlank) return [];
  if (last?.kind === 'number') return units(dimensionsExpected(place));
  if (context.call) return inCall(place);
  if (block === 'file' || block === 'rig' || block === 'part') return inStatement(place, block);
  if (block === 'sequence') return inSequence(place);
  if (block === 'scenario') return inScenario(place);
  return inProperties(place, propertiesOf(block));
}

function importPaths(
  document: RigDocument,
  context: CursorContext,
  offset: number,
  paths: readonly string[],
): Suggestion[] {
  const statement = document.parsed().tree.statements.find((s) => s.kind === 'import' && s.span.start < offset);
  if (!statement) return [];
  const replace = { start: context.stringStart, end: offset };
  return paths.map((path) => ({ label: path, kind: 'file', detail: '', documentation: '', replace }));
}
