/**
 * The documents the server knows: open ones from the editor, others from files. Keeps one built document value per file and
 * builds it again only when its text, its settings or a file it imports changed.
 */
import type { TextDocuments } from 'vscode-languageserver';
import type { TextDocument } from 'vscode-languageserver-textdocument';
import type { Range } from 'vscode-languageserver';
import { parse, parseSteps } from '../../grammar/src/api';
import type { Tree } from '../../grammar/src/ast';
import type { RigDocument } from '../core/document/document';
import { createDocument } from '../core/document/document';
import { declaredNames, type WorkspaceName } from '../core/features/symbols';
import type { Work } from '../core/work/work';
import type { ServerSettings } from '../protocol/settings';
import { readSettings } from '../protocol/settings';
import { createText, type Encoding } from './encoded-text';
import type { Files } from './files';
import { usualForm } from './paths';

/** A document value with the text that converts its offsets. */
export interface Opened {
  readonly document: RigDocument;
  readonly text: TextDocument;
  readonly settings: ServerSettings;
}

/** A declared name with its place in the client's units. */
export interface PlacedName extends WorkspaceName {
  readonly range: Range;
}

/** Signs of a text that are read in less than a slice of work; a longer text is read in steps. */
export const SHORT = 15_000;

/** Files that are not open keep what was built for them while they are among those most recently asked for. */
const MOST_CLOSED = 8;
/** Trees of imported files that are kept for all documents. */
const MOST_TREES = 400;

interface Kept extends Opened {
  readonly stale: boolean;
}

export interface Workspace {
  readonly open: TextDocuments<TextDocument>;
  /** An open document or a file's, built for its newest text; null where there is neither. */
  get(uri: string): Opened | null;
  /** As `get`, with settings and texts waited for where the client has to be asked. */
  prepare(uri: string): Promise<Opened | null>;
  /** Text of any file for converting places in it; null where it is not known. */
  textOf(uri: string): TextDocument | null;
  /** Version of an open document, null for a file that is not open. */
  versionOf(uri: string): number | null;
  /** Texts changed: documents that read them are built again. Gives the open documents concerned. */
  fileChanged(uris: readonly string[]): string[];
  /** Settings of a document, or those of no document in particular for `null`. */
  settings(uri: string | null): Promise<ServerSettings>;
  settingsChanged(): void;
  /** A document was closed in the editor. */
  closed(uri: string): void;
  /** Every `.rig` file of the folders and every open document, open ones first. */
  all(): Promise<string[]>;
  /** Names that a document or file declares, from its parse alone; kept until it changes. */
  names(uri: string): Promise<readonly PlacedName[]>;
  /** Gives back what was built for files that are neither open nor read by an open one, but for the last few. */
  trim(): void;
}

export interface WorkspaceNeeds {
  readonly open: TextDocuments<TextDocument>;
  readonly files: Files;
  readonly folders: () => readonly string[];
  readonly encoding: () => Encoding;
  /** Settings for a document as the client has them, already shaped. */
  readonly settingsFor: (uri: string | null) => Promise<unknown>;
  /** Runs a computation in turns with all others. */
  readonly inTurns: <T>(work: Work<T>) => Promise<T>;
}

export function createWorkspace(needs: WorkspaceNeeds): Workspace {
  const { open, files, folders } = needs;
  const settings = createSettings(needs);
  const texts = createTexts(needs);
  const documents = createDocuments(needs, texts, settings);
  const names = createNames(needs, texts);
  const fetch = async (uri: string): Promise<void> => {
    if (!open.get(uri)) await files.fetch(uri);
  };
  const forget = (uri: string): void => {
    documents.forget(uri);
    settings.forget(uri);
    texts.forget(uri);
  };
  return {
    open,
    get: documents.get,
    prepare: async (uri) => {
      await settings.of(uri);
      await fetch(uri);
      return documents.get(uri);
    },
    textOf: texts.of,
    versionOf: (uri) => open.get(uri)?.version ?? null,
    fileChanged: documents.textsChanged,
    settings: settings.of,
    settingsChanged: settings.clear,
    closed: forget,
    names: async (uri) => {
      await fetch(uri);
      return names(uri);
    },
    trim: () => {
      const closed = documents.uris().filter((uri) => !open.get(uri));
      closed.slice(0, Math.max(0, closed.length - MOST_CLOSED)).forEach(forget);
    },
    all: async () => [...new Set([...open.keys(), ...(await files.list(folders()))])],
  };
}

/** Settings by document, asked for once until they change. */
function createSettings({ settingsFor }: WorkspaceNeeds) {
  const kept = new Map<string, ServerSettings>();
  return {
    /** As known now; the defaults where they have not been asked for. */
    known: (uri: string): ServerSettings => kept.get(uri) ?? DEFAULTS,
    of: async (uri: string | null): Promise<ServerSettings> => {
      const known = kept.get(uri ?? '');
      if (known) return known;
      const read = readSettings(await settingsFor(uri));
      kept.set(uri ?? '', read);
      return read;
    },
    forget: (uri: string) => void kept.delete(uri),
    clear: () => kept.clear(),
  };
}

/** Texts of open documents and of files, one value for as long as the content stays. */
function createTexts({ open, files, encoding }: WorkspaceNeeds) {
  const fileTexts = new Map<string, TextDocument>();
  // An import may spell a file's address otherwise than the editor does.
  const openText = (uri: string): TextDocument | undefined => open.get(uri) ?? open.get(usualForm(uri));
  return {
    read: (uri: string): string | undefined => openText(uri)?.getText() ?? files.read(uri),
    of: (uri: string): TextDocument | null => {
      const opened = openText(uri);
      if (opened) return opened;
      const content = files.read(uri);
      if (content === undefined) return null;
      const before = fileTexts.get(uri);
      if (before?.getText() === content) return before;
      const text = createText(uri, 0, content, encoding());
      fileTexts.set(uri, text);
      return text;
    },
    forget: (uri: string) => void fileTexts.delete(uri),
  };
}

/** Built documents, each built again once its text, its settings or a text that it reads has changed. */
function createDocuments(
  { open, files, encoding }: WorkspaceNeeds,
  texts: ReturnType<typeof createTexts>,
  settings: ReturnType<typeof createSettings>,
) {
  /** The last one asked for stands last. */
  const kept = new Map<string, Kept>();
  const treeOf = createTrees();
  return {
    uris: (): string[] => [...kept.keys()],
    get: (uri: string): Opened | null => {
      const text = texts.of(uri);
      if (!text) return null;
      const before = kept.get(uri);
      const wanted = settings.known(uri);
      const content = text.getText();
      const same = before?.document.text === content && before.document.version === text.version;
      if (before && same && !before.stale && before.settings === wanted) return before;
      const input = { uri, version: text.version, text: content };
      const options = { constants: wanted.constants, limit: wanted.diagnosticsLimit, whyUnread: files.why, treeOf };
      const document = createDocument(input, texts.read, options, before?.document);
      const built = { document, text: freeze(text, encoding()), settings: wanted, stale: false };
      kept.delete(uri);
      kept.set(uri, built);
      return built;
    },
    textsChanged: (changed: readonly string[]): string[] => {
      const uris = new Set(changed);
      const concerned: string[] = [];
      for (const [uri, entry] of [...kept]) {
        const reads = entry.document.dependencies();
        if (!uris.has(uri) && !meets(uris, reads)) continue;
        kept.set(uri, { ...entry, stale: true });
        if (open.get(uri)) concerned.push(uri);
      }
      return concerned;
    },
    forget: (uri: string) => void kept.delete(uri),
  };
}

/** Declared names of a text, kept until it changes. */
function createNames(
  { inTurns }: WorkspaceNeeds,
  texts: ReturnType<typeof createTexts>,
): (uri: string) => Promise<readonly PlacedName[]> {
  const lists = new Map<string, { readonly text: string; readonly names: readonly PlacedName[] }>();
  return async (uri) => {
    const text = texts.of(uri);
    if (!text) return [];
    const content = text.getText();
    const known = lists.get(uri);
    if (known?.text === content) return known.names;
    const range = (name: WorkspaceName): Range => ({
      start: text.positionAt(name.start),
      end: text.positionAt(name.end),
    });
    // A text that takes less than a slice is read at once: a folder has thousands of those.
    const { tree } = content.length <= SHORT ? parse(content) : await inTurns(parseSteps(content));
    const names = declaredNames(uri, tree).map((name) => ({ ...name, range: range(name) }));
    lists.set(uri, { text: content, names });
    return names;
  };
}

const DEFAULTS = readSettings({});

/** Whether two sets have a member in common. */
function meets(a: ReadonlySet<string>, b: ReadonlySet<string>): boolean {
  const [small, large] = a.size < b.size ? [a, b] : [b, a];
  for (const member of small) if (large.has(member)) return true;
  return false;
}

/** Trees of imported files by address and text, the most recently used. */
function createTrees(): (uri: string, text: string) => Tree {
  const trees = new Map<string, { readonly text: string; readonly tree: Tree }>();
  return (uri, text) => {
    const known = trees.get(uri);
    const entry = known?.text === text ? known : { text, tree: parse(text).tree };
    trees.delete(uri);
    trees.set(uri, entry);
    for (const oldest of trees.keys()) {
      if (trees.size <= MOST_TREES) break;
      trees.delete(oldest);
    }
    return entry.tree;
  };
}

/** A copy whose offsets stay those of the built version while the editor's text goes on changing. */
function freeze(text: TextDocument, encoding: Encoding): TextDocument {
  return createText(text.uri, text.version, text.getText(), encoding, text.languageId);
}
