/** Diagnostics that the client asks for: of one document, and of the folders in one request that waits for changes. */
import type {
  CancellationToken,
  Diagnostic,
  DocumentDiagnosticReport,
  WorkspaceDiagnosticReport,
  WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver';
import { createNews, type DiagnosticsNeeds, problemsOf, toDiagnostics, wantsWorkspace } from './diagnostics-work';
import { cancelled } from './request';
import type { Problem } from '../core/model/problem';
import type { Urgency } from './turns';

/** The answers to requests for problems. */
export interface Pull {
  /** Something changed: a request of the folders that waits is answered. */
  wake(): void;
  /** Asks a client that can be asked to request everything again. */
  refresh(): void;
  /** A document was closed or a file deleted. */
  closed(uri: string): void;
  one(uri: string, previousResult: string | undefined, token: CancellationToken): Promise<DocumentDiagnosticReport>;
  folders(
    previous: readonly { readonly uri: string; readonly value: string }[],
    token: CancellationToken,
  ): Promise<WorkspaceDiagnosticReport>;
}

export function createPull(needs: DiagnosticsNeeds): Pull {
  const { client } = needs;
  const results = createResults();
  const news = createNews(needs.host);
  const refresh = (): void => {
    if (client.refreshDiagnostics) void needs.connection.languages.diagnostics.refresh().catch(() => undefined);
  };
  /** What is known early is an answer where the rest takes long; the client is then asked to request it again. */
  const report = async (
    uri: string,
    token: CancellationToken,
    urgency: Urgency,
    early: 'early' | 'whole',
  ): Promise<Diagnostic[]> => {
    const started = needs.host.now();
    const isEnough = (known: readonly Problem[]): boolean => early === 'early' && news.isWorthIt(uri, started, known);
    const done = await problemsOf(needs, uri, urgency, () => token.isCancellationRequested, isEnough);
    if (!done) return [];
    news.note(uri, done.problems);
    if (!done.whole) setTimeout(refresh, 0);
    return toDiagnostics(needs, done.opened, done.problems);
  };
  const answer: Answer = async (uri, before, token, urgency, early = 'whole') => {
    const items = await report(uri, token, urgency, early);
    // Nothing is known then: an empty list would take away what is shown.
    if (token.isCancellationRequested) throw cancelled();
    const resultId = results.idOf(uri, items);
    return resultId === before ? { kind: 'unchanged' as const, resultId } : { kind: 'full' as const, resultId, items };
  };
  const folders = createFolderReports(needs, { answer, results });
  return {
    refresh,
    wake: folders.wake,
    closed: (uri) => {
      results.forget(uri);
      news.forget(uri);
      folders.closed(uri);
    },
    one: (uri, before, token) => {
      // Nobody asks again for a file that is not open: it gets the whole at once.
      const may = client.refreshDiagnostics && needs.workspace.open.get(uri) !== undefined;
      return answer(uri, before, token, 'open', may ? 'early' : 'whole');
    },
    folders: folders.report,
  };
}

type Answer = (
  uri: string,
  before: string | undefined,
  token: CancellationToken,
  urgency: Urgency,
  early?: 'early' | 'whole',
) => Promise<DocumentDiagnosticReport>;

interface FolderNeeds {
  readonly answer: Answer;
  readonly results: ReturnType<typeof createResults>;
}

/** Reports of all files of the folders: each lists what is new since the one before, and waits until there is something. */
function createFolderReports(needs: DiagnosticsNeeds, { answer, results }: FolderNeeds) {
  const { workspace, client } = needs;
  const held = createHeld();
  /** Closed since the last report of the folders. */
  const closed = new Set<string>();

  /** Reports of these files, one after the other; null where the request was cancelled. */
  const reportsOf = async (
    uris: readonly string[],
    before: ReadonlyMap<string, string>,
    token: CancellationToken,
  ): Promise<WorkspaceDocumentDiagnosticReport[] | null> => {
    const items: WorkspaceDocumentDiagnosticReport[] = [];
    for (const uri of uris) {
      if (token.isCancellationRequested) return null;
      const version = workspace.open.get(uri)?.version ?? null;
      const item = await answer(uri, before.get(uri), token, 'rest').catch((error: unknown) => {
        if (token.isCancellationRequested) return null;
        throw error;
      });
      if (!item) return null;
      if (item.kind === 'full') items.push({ ...item, uri, version });
      workspace.trim();
    }
    return items;
  };
  /** Empty reports of files that were reported before, or were closed, and are not among the wanted ones any more. */
  const withdrawn = (uris: readonly string[], before: ReadonlyMap<string, string>) => {
    // A client of both kinds keeps what it pulled for a document that is closed until a report of the folders says otherwise.
    const shut = [...closed].filter((uri) => !before.has(uri) && !workspace.open.get(uri));
    closed.clear();
    return [...before.keys(), ...shut]
      .filter((uri) => !uris.includes(uri))
      .map((uri) => emptyReport(uri, results.idOf(uri, [])));
  };
  return {
    wake: held.wake,
    closed: (uri: string): void => {
      if (client.pullDiagnostics) closed.add(uri);
    },
    report: async (
      previous: readonly { readonly uri: string; readonly value: string }[],
      token: CancellationToken,
    ): Promise<WorkspaceDiagnosticReport> => {
      const before = new Map(previous.map((p) => [p.uri, p.value]));
      for (;;) {
        const generation = held.generation();
        const uris = (await wantsWorkspace(workspace)) ? await workspace.all() : [];
        const reports = await reportsOf(uris, before, token);
        if (!reports) return { items: [] };
        const items = [...reports, ...withdrawn(uris, before)];
        const fresh = items.filter((item) => item.resultId !== before.get(item.uri));
        if (held.isFirstAnswer() || fresh.length > 0) return { items: fresh };
        // Nothing new: the answer waits for the next change, so that nobody polls.
        if (!(await held.next(generation, token))) return { items: [] };
      }
    },
  };
}

function emptyReport(uri: string, resultId: string): WorkspaceDocumentDiagnosticReport {
  return { kind: 'full', uri, version: null, items: [], resultId };
}

/** Ids of results: the same for the same problems, so that an unchanged answer can be recognised. */
function createResults() {
  const last = new Map<string, { readonly id: string; readonly text: string }>();
  let count = 0;
  return {
    idOf: (uri: string, items: readonly Diagnostic[]): string => {
      const text = JSON.stringify(items);
      const before = last.get(uri);
      if (before?.text === text) return before.id;
      const id = String(++count);
      last.set(uri, { id, text });
      return id;
    },
    forget: (uri: string) => void last.delete(uri),
  };
}

/** A workspace request that waits for something to change. */
function createHeld() {
  let generation = 0;
  let answered = false;
  const waiting = new Set<() => void>();
  return {
    generation: () => generation,
    /** True once: the first answer is given at once even if empty. */
    isFirstAnswer: (): boolean => {
      const first = !answered;
      answered = true;
      return first;
    },
    wake: () => {
      generation++;
      for (const go of waiting) go();
      waiting.clear();
    },
    /** Resolves true at the next change (at once if there was one), false when cancelled. */
    next: (since: number, token: CancellationToken): Promise<boolean> =>
      new Promise((resolve) => {
        if (generation !== since) return resolve(true);
        waiting.add(() => resolve(true));
        token.onCancellationRequested(() => resolve(false));
      }),
  };
}
