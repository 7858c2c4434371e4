/** Registers every standard request: finds the document, calls the feature, converts its answer. */
import type {
  CallHierarchyItem,
  CancellationToken,
  CompletionItem,
  CompletionList,
  DocumentSymbol,
  Hover,
  Position,
  Range,
  ResponseError,
  SymbolInformation,
  TextDocumentIdentifier,
  WorkspaceEdit,
  WorkspaceSymbol,
} from 'vscode-languageserver';
import { CompletionTriggerKind, MarkupKind } from 'vscode-languageserver';
import { causesOf, effectsOf, prepareHierarchy } from '../core/features/call-hierarchy';
import { lenses } from '../core/features/code-lens';
import { suggestionsAt } from '../core/features/completion';
import { definitionAt } from '../core/features/definition';
import { documentLinks } from '../core/features/document-links';
import { foldsOf } from '../core/features/folding';
import { formatRangeWork, formatWork } from '../core/features/format';
import { hoverWork } from '../core/features/hover';
import { inlayHintsWork } from '../core/features/inlay-hints';
import { highlightsAt, referencesAt } from '../core/features/references';
import { prepareRename, renameWork } from '../core/features/rename';
import { selectionRanges } from '../core/features/selection-ranges';
import { semanticTokens } from '../core/features/semantic-tokens';
import { signatureAt } from '../core/features/signature-help';
import { matchesName, outlineWork } from '../core/features/symbols';
import type { RigDocument } from '../core/document/document';
import type { Source } from '../core/model/problem';
import { patiently, type Work } from '../core/work/work';
import type { ClientFacts } from './client-facts';
import * as convert from './convert';
import { plainText, toLspSignature, toLspSuggestion } from './convert-completion';
import { toLspEdit, toLspWorkspaceEdit } from './convert-problems';
import { relativePaths } from './paths';
import { answer, refused } from './request';
import { registerCodeActions } from './code-action-handler';
import { createWrapper, mapped, type HandlerNeeds } from './wrap';
import { occurrenceAt } from '../core/features/symbol-at';
import { type Opened } from './workspace';

/** Names that the workspace's list gives at most: nobody reads more. */
const MOST_NAMES = 2_000;

export function registerFeatures(needs: HandlerNeeds): void {
  registerReading(needs);
  registerNames(needs);
  registerCauses(needs);
  registerStructure(needs);
  registerWriting(needs);
  registerCodeActions(needs);
}

interface AtPosition {
  readonly textDocument: TextDocumentIdentifier;
  readonly position: Position;
}

function registerReading(needs: HandlerNeeds): void {
  const { connection, client } = needs;
  const wrap = createWrapper(needs);
  connection.onHover(
    wrap(
      'hover',
      null,
      // Computes what it reads and no more: other rigs of the file may be long.
      function* ({ document, text, settings }: Opened, { position }: AtPosition): Work<Hover | null> {
        const offset = text.offsetAt(position);
        const hover = yield* hoverWork(document, offset, { causes: settings.hoverCauses });
        if (!hover) return null;
        const markdown = client().markdownHover;
        const contents = markdown
          ? { kind: MarkupKind.Markdown, value: hover.text }
          : { kind: MarkupKind.PlainText, value: plainText(hover.text) };
        return { contents, range: convert.toLspRange(text, hover.span) };
      },
      undefined,
      'caret',
    ),
  );
  connection.onSignatureHelp(
    wrap('signature help', null, ({ document, text }, { position }: AtPosition) => {
      const signature = signatureAt(document, text.offsetAt(position));
      return signature && toLspSignature(client(), signature);
    }),
  );
  connection.languages.inlayHint.on(
    wrap(
      'inlay hints',
      [],
      ({ document, text, settings }, params: { textDocument: TextDocumentIdentifier; range: Range }) => {
        const options = {
          drives: settings.driveHints,
          timers: settings.timerHints,
          requirements: settings.requirementHints,
        };
        const range = convert.fromLspRange(text, params.range);
        return mapped(inlayHintsWork(document, range, options), (hint) => convert.toLspHint(text, hint));
      },
      ({ settings }) => (settings.requirementHints ? 'verdicts' : 'times'),
    ),
  );
  connection.onCodeLens(
    wrap(
      'lenses',
      [],
      ({ document, text, settings }) => {
        if (!settings.codeLens) return [];
        const withCommand = client().options.preview === true;
        const proofOf = (rig: string): string | null => needs.proofs.mark(document, rig)?.text ?? null;
        return mapped(
          patiently(() => lenses(document, proofOf)),
          (lens) => convert.toLspLens(text, lens, withCommand),
        );
      },
      ({ settings }) => (settings.codeLens ? 'verdicts' : 'text'),
    ),
  );
}

/** Every document that may hold uses of a name: the open ones and the files of the folders in whose text it stands. */
async function documentsWith(
  { workspace, turns }: HandlerNeeds,
  name: string,
  token: CancellationToken,
): Promise<RigDocument[]> {
  const documents: RigDocument[] = [];
  const pauses = turns.walk('open');
  for (const uri of await workspace.all()) {
    if (token.isCancellationRequested) return [];
    await pauses();
    if (!workspace.open.get(uri)) await workspace.names(uri);
    if (!workspace.textOf(uri)?.getText().normalize('NFC').includes(name)) continue;
    const opened = await workspace.prepare(uri);
    if (!opened || !(await turns.run(opened.document.readWork(), 'open', () => token.isCancellationRequested)))
      continue;
    documents.push(opened.document);
  }
  workspace.trim();
  return documents;
}

function registerNames(needs: HandlerNeeds): void {
  const { connection, client, workspace } = needs;
  const wrap = createWrapper(needs);
  const { textOf } = workspace;
  connection.onDefinition(
    wrap('definition', null, ({ document, text }, { position }: AtPosition) => {
      const definition = definitionAt(document, text.offsetAt(position));
      if (!definition) return null;
      if (client().definitionLinks) return [convert.toLspDefinition(textOf, text, definition)];
      return [convert.toLspLocation(textOf, definition.name)];
    }),
  );
  connection.onDocumentHighlight(
    wrap('highlights', [], ({ document, text }, { position }: AtPosition) =>
      highlightsAt(document, text.offsetAt(position)).map((h) => convert.toLspHighlight(text, h)),
    ),
  );
  connection.onReferences((params, token) =>
    wrap('references', [], async ({ document, text }, { position }: AtPosition) => {
      const name = occurrenceAt(document, text.offsetAt(position))?.declaration.name;
      if (name === undefined) return [];
      const documents = await documentsWith(needs, name, token);
      return referencesAt(document, text.offsetAt(position), documents)
        .filter((o) => params.context.includeDeclaration || o.role !== 'declaration')
        .map((o) => convert.toLspLocation(textOf, o.at));
    })(params, token),
  );
  connection.onPrepareRename(
    wrap('rename', null, ({ document, text }, { position }: AtPosition) => {
      const place = prepareRename(document, text.offsetAt(position));
      if (!place.ok) return refused(place.reason);
      return { range: convert.toLspRange(text, place.span), placeholder: place.placeholder };
    }),
  );
  connection.onRenameRequest((params, token) =>
    wrap('rename', null, async ({ document, text }, { position }: AtPosition) => {
      const name = occurrenceAt(document, text.offsetAt(position))?.declaration.name ?? '';
      const documents = await documentsWith(needs, name, token);
      return (function* (): Work<WorkspaceEdit | ResponseError> {
        const result = yield* renameWork(document, text.offsetAt(position), params.newName, documents);
        return result.ok ? toLspWorkspaceEdit(workspace, client(), result.edits) : refused(result.reason);
      })();
    })(params, token),
  );
}

/** Causes and effects of an item, as the call hierarchy of the protocol. */
function registerCauses(needs: HandlerNeeds): void {
  const { connection, workspace } = needs;
  const wrap = createWrapper(needs);
  const { textOf } = workspace;
  connection.languages.callHierarchy.onPrepare(
    wrap('cause and effect', null, ({ document, text }, { position }: AtPosition) => {
      const item = prepareHierarchy(document, text.offsetAt(position));
      return item && [convert.toLspHierarchyItem(textOf, item)];
    }),
  );
  /** The document of an item that the client was given before. */
  const ofItem = <P extends { readonly item: CallHierarchyItem }>({ item }: P) => ({ textDocument: item, item });
  const causes = wrap('causes', [], (opened, { item }: ReturnType<typeof ofItem>) =>
    causesOf(opened.document, placeOf(opened, item)).map((call) => ({
      from: convert.toLspHierarchyItem(textOf, call.item),
      fromRanges: call.places.map((at) => convert.toLspLocation(textOf, at).range),
    })),
  );
  const effects = wrap('effects', [], (opened, { item }: ReturnType<typeof ofItem>) =>
    effectsOf(opened.document, placeOf(opened, item)).map((call) => ({
      to: convert.toLspHierarchyItem(textOf, call.item),
      fromRanges: call.places.map((at) => convert.toLspLocation(textOf, at).range),
    })),
  );
  connection.languages.callHierarchy.onIncomingCalls((params, token) => causes(ofItem(params), token));
  connection.languages.callHierarchy.onOutgoingCalls((params, token) => effects(ofItem(params), token));
}

/** Where the item asked about is declared: by its range, since a client need not keep more of it. */
function placeOf({ document, text }: Opened, item: CallHierarchyItem): Source {
  const { start, end } = convert.fromLspRange(text, item.selectionRange);
  return { uri: document.uri, start, end };
}

function registerStructure(needs: HandlerNeeds): void {
  const { connection, client, workspace, log, turns } = needs;
  const wrap = createWrapper(needs);
  connection.onDocumentSymbol(
    wrap(
      'outline',
      [],
      function* ({ document, text }): Work<DocumentSymbol[] | SymbolInformation[]> {
        const entries = yield* outlineWork(document);
        return client().nestedSymbols
          ? entries.map((e) => convert.toLspSymbol(text, e))
          : convert.toLspFlatSymbols(text, entries);
      },
      () => 'times',
    ),
  );
  connection.onWorkspaceSymbol((params, token) =>
    answer<WorkspaceSymbol[]>('names', log, token, [], async () => {
      const pauses = turns.walk('open');
      const found: WorkspaceSymbol[] = [];
      for (const uri of await workspace.all()) {
        if (token.isCancellationRequested) return [];
        const names = (await workspace.names(uri)).filter((n) => matchesName(n.name, params.query));
        found.push(...names.slice(0, MOST_NAMES - found.length).map(convert.toLspWorkspaceSymbol));
        if (found.length >= MOST_NAMES) break;
        await pauses();
      }
      return found;
    }),
  );
  connection.onFoldingRanges(
    wrap('folding', [], ({ document, text }) => foldsOf(document).map((f) => convert.toLspFold(text, client(), f))),
  );
  connection.onSelectionRanges(
    wrap(
      'selection',
      [],
      ({ document, text }, params: { textDocument: TextDocumentIdentifier; positions: Position[] }) =>
        params.positions.map((p) => convert.toLspSelection(text, selectionRanges(document, text.offsetAt(p)))),
    ),
  );
  connection.languages.semanticTokens.on(
    wrap('colours', { data: [] }, ({ document, text }) => convert.toLspSemanticTokens(text, semanticTokens(document))),
  );
  connection.languages.semanticTokens.onRange(
    wrap(
      'colours',
      { data: [] },
      ({ document, text }, params: { textDocument: TextDocumentIdentifier; range: Range }) => {
        const { start, end } = convert.fromLspRange(text, params.range);
        return convert.toLspSemanticTokens(text, semanticTokens(document, start, end));
      },
    ),
  );
  connection.onDocumentLinks(
    wrap('links', [], ({ document, text }) =>
      documentLinks(document).map((link) => ({ range: convert.toLspRange(text, link), target: link.target })),
    ),
  );
}

function registerWriting(needs: HandlerNeeds): void {
  const { connection, client, workspace, log } = needs;
  const wrap = createWrapper(needs);
  connection.onCompletion((params, token) =>
    wrap<AtPosition, CompletionList>(
      'completion',
      NO_SUGGESTIONS,
      async ({ document, text, settings }, { position }) => {
        const { context } = params;
        const offset = text.offsetAt(position);
        const importing = /^\s*import\b/.test(
          document.text.slice(document.text.lastIndexOf('\n', offset - 1) + 1, offset),
        );
        const afterBlank =
          context?.triggerKind === CompletionTriggerKind.TriggerCharacter && context.triggerCharacter === ' ';
        const options = {
          snippets: settings.snippets && client().snippets,
          importable: importing ? relativePaths(document.uri, await workspace.all()) : [],
          afterBlank,
        };
        const found = suggestionsAt(document, offset, options);
        // Units are asked for anew with every letter: once one stands there in full there is no list that takes the next Tab or Enter.
        const isIncomplete = found.some(({ kind }) => kind === 'unit');
        return { isIncomplete, items: found.map((s, i) => toLspSuggestion(text, client(), s, i)) };
      },
    )(params, token),
  );
  connection.onCompletionResolve((item, token) =>
    answer('completion', log, token, item, () => resolved(item, client())),
  );
  connection.onDocumentFormatting(
    wrap('format', [], ({ document, text, settings }) =>
      settings.format ? mapped(formatWork(document.text), (e) => toLspEdit(text, e)) : [],
    ),
  );
  connection.onDocumentRangeFormatting(
    wrap(
      'format',
      [],
      ({ document, text, settings }, params: { textDocument: TextDocumentIdentifier; range: Range }) => {
        const range = convert.fromLspRange(text, params.range);
        return settings.format ? mapped(formatRangeWork(document.text, range), (e) => toLspEdit(text, e)) : [];
      },
    ),
  );
}

const NO_SUGGESTIONS: CompletionList = { isIncomplete: false, items: [] };

/** Fills in the documentation that the list left out. */
function resolved(item: CompletionItem, client: ClientFacts): CompletionItem {
  const text = typeof item.data === 'string' ? item.data : '';
  if (text === '') return item;
  const documentation = client.markdownCompletion ? { kind: MarkupKind.Markdown, value: text } : plainText(text);
  return { ...item, documentation };
}
