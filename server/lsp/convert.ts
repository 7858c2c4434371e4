/** Everything between our plain data and the protocol's types. Offsets become positions here and nowhere else. */
import type {
  CallHierarchyItem,
  CodeLens,
  DocumentHighlight,
  DocumentSymbol,
  FoldingRange,
  InlayHint,
  Location,
  LocationLink,
  Position,
  Range,
  SelectionRange,
  SemanticTokens,
  SymbolInformation,
  WorkspaceSymbol,
} from 'vscode-languageserver';
import { DocumentHighlightKind, FoldingRangeKind, InlayHintKind, MarkupKind, SymbolKind } from 'vscode-languageserver';
import type { TextDocument } from 'vscode-languageserver-textdocument';
import type { HierarchyItem } from '../core/features/call-hierarchy';
import type { Lens } from '../core/features/code-lens';
import type { Definition } from '../core/features/definition';
import type { Fold } from '../core/features/folding';
import type { Hint } from '../core/features/inlay-hints';
import type { Highlight } from '../core/features/references';
import type { SemanticToken } from '../core/features/semantic-tokens';
import type { OutlineEntry, OutlineKind } from '../core/features/symbols';
import type { PlacedName } from './workspace';
import type { Source } from '../core/model/problem';
import { COMMANDS, OPEN_PREVIEW_COMMAND, TELL, TOKEN_MODIFIERS, TOKEN_TYPES } from '../protocol/messages';
import { TUNE_COMMAND } from '../protocol/suggestion';
import type { ClientFacts } from './client-facts';

/** Gives the text of a file for converting offsets in it; null where it is not known. */
export type TextOf = (uri: string) => TextDocument | null;

export interface OffsetRange {
  readonly start: number;
  readonly end: number;
}

export function toLspRange(text: TextDocument, { start, end }: OffsetRange): Range {
  return { start: text.positionAt(start), end: text.positionAt(end) };
}

/** A place in any file; the start of the file where its text is not known. */
export function toLspLocation(textOf: TextOf, at: Source): Location {
  const text = textOf(at.uri);
  return { uri: at.uri, range: text ? toLspRange(text, at) : emptyRange() };
}

function emptyRange(): Range {
  const start: Position = { line: 0, character: 0 };
  return { start, end: start };
}

/** A position of the client as an offset; positions outside the text are moved to its nearest end. */
export function fromLspPosition(text: TextDocument, position: Position): number {
  return text.offsetAt(position);
}

export function fromLspRange(text: TextDocument, range: Range): OffsetRange {
  return { start: text.offsetAt(range.start), end: text.offsetAt(range.end) };
}

// ---------------------------------------------------------------- names and structure

export function toLspDefinition(textOf: TextOf, text: TextDocument, definition: Definition): LocationLink {
  return {
    originSelectionRange: toLspRange(text, definition.origin),
    targetUri: definition.name.uri,
    targetRange: toLspLocation(textOf, definition.whole).range,
    targetSelectionRange: toLspLocation(textOf, definition.name).range,
  };
}

export function toLspHighlight(text: TextDocument, highlight: Highlight): DocumentHighlight {
  const kind = highlight.kind === 'write' ? DocumentHighlightKind.Write : DocumentHighlightKind.Read;
  return { range: toLspRange(text, highlight.at), kind };
}

const SYMBOL_KIND: Readonly<Record<OutlineKind, SymbolKind>> = {
  rig: SymbolKind.Module,
  part: SymbolKind.Class,
  place: SymbolKind.Object,
  chamber: SymbolKind.Struct,
  door: SymbolKind.Interface,
  stack: SymbolKind.Array,
  feed: SymbolKind.Property,
  draw: SymbolKind.Property,
  switch: SymbolKind.Boolean,
  sensor: SymbolKind.Field,
  signal: SymbolKind.Variable,
  sequence: SymbolKind.Event,
  scenario: SymbolKind.Event,
  let: SymbolKind.Constant,
  medium: SymbolKind.Constant,
  parameter: SymbolKind.TypeParameter,
};

export function toLspSymbol(text: TextDocument, entry: OutlineEntry): DocumentSymbol {
  return {
    name: entry.name,
    detail: entry.detail,
    kind: SYMBOL_KIND[entry.kind],
    range: toLspRange(text, entry.whole),
    selectionRange: toLspRange(text, entry.nameAt),
    children: entry.children.map((child) => toLspSymbol(text, child)),
  };
}

/** The outline as a flat list, for clients that know no tree. */
export function toLspFlatSymbols(
  text: TextDocument,
  entries: readonly OutlineEntry[],
  container = '',
): SymbolInformation[] {
  return entries.flatMap((entry) => [
    {
      name: entry.name,
      kind: SYMBOL_KIND[entry.kind],
      containerName: container,
      location: { uri: text.uri, range: toLspRange(text, entry.whole) },
    },
    ...toLspFlatSymbols(text, entry.children, entry.name),
  ]);
}

export function toLspWorkspaceSymbol(name: PlacedName): WorkspaceSymbol {
  return {
    name: name.name,
    kind: SYMBOL_KIND[name.kind],
    containerName: name.container,
    location: { uri: name.uri, range: name.range },
  };
}

export function toLspHierarchyItem(textOf: TextOf, item: HierarchyItem): CallHierarchyItem {
  return {
    name: item.name,
    kind: SYMBOL_KIND[item.kind],
    detail: item.detail,
    uri: item.at.uri,
    range: toLspLocation(textOf, item.whole).range,
    selectionRange: toLspLocation(textOf, item.at).range,
  };
}

const FOLD_KIND = {
  block: undefined,
  comment: FoldingRangeKind.Comment,
  region: FoldingRangeKind.Region,
  imports: FoldingRangeKind.Imports,
} as const;

export function toLspFold(text: TextDocument, client: ClientFacts, fold: Fold): FoldingRange {
  const start = text.positionAt(fold.start);
  const end = text.positionAt(fold.end);
  // A client that folds whole lines would swallow the closing brace.
  const lastLine = fold.kind === 'block' && client.foldLinesOnly ? Math.max(start.line, end.line - 1) : end.line;
  const kind = FOLD_KIND[fold.kind];
  return {
    startLine: start.line,
    endLine: lastLine,
    ...(client.foldLinesOnly ? {} : { startCharacter: start.character, endCharacter: end.character }),
    ...(kind ? { kind } : {}),
    ...(client.foldSummaries ? { collapsedText: fold.summary } : {}),
  };
}

/** @param spans innermost first */
export function toLspSelection(text: TextDocument, spans: readonly OffsetRange[]): SelectionRange {
  let outer: SelectionRange | undefined;
  for (const span of [...spans].reverse()) {
    outer = outer ? { range: toLspRange(text, span), parent: outer } : { range: toLspRange(text, span) };
  }
  return outer ?? { range: emptyRange() };
}

// ---------------------------------------------------------------- colours, hints, lenses

const TYPE_INDEX = new Map<string, number>(TOKEN_TYPES.map((t, i) => [t.name, i]));

/** The protocol's five numbers per token; tokens over several lines are cut, since clients need single lines. */
export function toLspSemanticTokens(text: TextDocument, tokens: readonly SemanticToken[]): SemanticTokens {
  const data: number[] = [];
  let line = 0;
  let character = 0;
  for (const token of tokens) {
    const start = text.positionAt(token.start);
    const end = text.positionAt(token.end);
    const cut = end.line === start.line ? end : text.positionAt(token.start + lineRest(text, token.start));
    const length = cut.character - start.character;
    const deltaLine = start.line - line;
    data.push(
      deltaLine,
      deltaLine === 0 ? start.character - character : start.character,
      length,
      TYPE_INDEX.get(token.type) ?? 0,
      token.modifiers.reduce((bits, m) => bits | (1 << TOKEN_MODIFIERS.indexOf(m)), 0),
    );
    line = start.line;
    character = start.character;
  }
  return { data };
}

function lineRest(text: TextDocument, offset: number): number {
  const rest = /^[^\r\n]*/.exec(text.getText().slice(offset));
  return rest?.[0].length ?? 0;
}

export function toLspHint(text: TextDocument, hint: Hint): InlayHint {
  return {
    position: text.positionAt(hint.at),
    label: hint.label,
    kind: InlayHintKind.Type,
    paddingLeft: true,
    tooltip: { kind: MarkupKind.Markdown, value: hint.explanation },
  };
}

/** @param canOpenPreview the client has the command that opens the preview */
export function toLspLens(text: TextDocument, lens: Lens, canOpenPreview: boolean): CodeLens {
  const overview = canOpenPreview ? OPEN_PREVIEW_COMMAND : '';
  const tune = canOpenPreview ? TUNE_COMMAND : '';
  const command = { prove: COMMANDS.prove, overview, tune }[lens.kind];
  return {
    range: toLspRange(text, lens),
    command: { title: lens.title, command, arguments: [text.uri, lens.rig, ...(lens.kind === 'prove' ? [TELL] : [])] },
  };
}
