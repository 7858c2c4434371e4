/**
 * Diagnostics by pull where the client offers it, by push otherwise, never both. Work is coalesced: it starts at once, only the
 * newest version of a document counts, and a version that is overtaken half way is dropped.
 */
import type {
  CancellationToken,
  Connection,
  Diagnostic,
  DocumentDiagnosticReport,
  WorkspaceDiagnosticReport,
  WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver';
import type { Problem } from '../core/model/problem';
import { PREVIEW_CHANGED } from '../protocol/messages';
import type { ClientFacts } from './client-facts';
import { toLspDiagnostic } from './convert';
import type { Host } from './host';
import type { Proofs } from './proofs';
import type { Log } from './request';
import { cancelled, describeError } from './request';
import { SLICE } from './slices';
import type { Opened, Workspace } from './workspace';

/** A first answer that takes longer is given in two parts. */
const FIRST_ANSWER = 60;

export interface Diagnostics {
  /** Something about these documents changed. */
  changed(uris: readonly string[]): void;
  /** Files that these documents read changed outside the editor; a client that pulls has to be notified. */
  changedOutside(uris: readonly string[]): void;
  /** Files changed on disk, also such that no open document reads. */
  filesChanged(uris: readonly string[]): void;
  /** A document was closed or a file deleted. */
  closed(uri: string): void;
  /** Everything may have changed: settings, folders. */
  allChanged(): void;
  /** Gives up what waits and what is being checked to be published. */
  stop(): void;
  pull(uri: string, previousResult: string | undefined, token: CancellationToken): Promise<DocumentDiagnosticReport>;
  pullWorkspace(
    previous: readonly { readonly uri: string; readonly value: string }[],
    token: CancellationToken,
  ): Promise<WorkspaceDiagnosticReport>;
}

export interface DiagnosticsNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly client: ClientFacts;
  readonly host: Host;
  readonly log: Log;
  readonly proofs: Proofs;
}

export function createDiagnostics(needs: DiagnosticsNeeds): Diagnostics {
  const { client } = needs;
  const results = createResults();
  const held = createHeld();
  /** Closed since the last report of the folders. */
  const closed = new Set<string>();
  const push = createPush(needs);

  /** Requests for single documents that are being answered; the folders wait for them. */
  let asked = 0;

  /** What is known early is an answer where the rest takes long; the client is then asked to request it again. */
  const report = async (uri: string, token: CancellationToken, early: 'early' | 'whole'): Promise<Diagnostic[]> => {
    const started = needs.host.now();
    const isSlow = (): boolean => early === 'early' && needs.host.now() - started > FIRST_ANSWER;
    const done = await workInSlices(needs, uri, () => token.isCancellationRequested, isSlow);
    if (!done) return [];
    if (!done.whole) setTimeout(askForPull, 0);
    return toDiagnostics(needs, done.opened, done.problems);
  };
  const pull = async (
    uri: string,
    before: string | undefined,
    token: CancellationToken,
    early: 'early' | 'whole' = 'whole',
  ) => {
    const items = await report(uri, token, early);
    // Nothing is known then: an empty list would take away what is shown.
    if (token.isCancellationRequested) throw cancelled();
    const resultId = results.idOf(uri, items);
    return resultId === before ? { kind: 'unchanged' as const, resultId } : { kind: 'full' as const, resultId, items };
  };
  /** Only a first answer may be partial: later ones would make problems of flow vanish and come back at every edit. */
  const pullOpen: Diagnostics['pull'] = async (uri, before, token) => {
    asked++;
    try {
      const may = client.refreshDiagnostics && before === undefined && !results.has(uri);
      return await pull(uri, before, token, may ? 'early' : 'whole');
    } finally {
      asked--;
    }
  };
  const pullOne = async (
    uri: string,
    before: string | undefined,
    token: CancellationToken,
  ): Promise<WorkspaceDocumentDiagnosticReport> => {
    const version = needs.workspace.open.get(uri)?.version ?? null;
    return { ...(await pull(uri, before, token)), uri, version };
  };
  const pullWorkspace: Diagnostics['pullWorkspace'] = async (previous, token) => {
    const before = new Map(previous.map((p) => [p.uri, p.value]));
    for (;;) {
      const generation = held.generation();
      const uris = (await wantsWorkspace(needs.workspace)) ? await needs.workspace.all() : [];
      const items: WorkspaceDocumentDiagnosticReport[] = [];
      for (const uri of uris) {
        if (token.isCancellationRequested) return { items: [] };
        while (asked > 0 && !token.isCancellationRequested) await needs.host.pause();
        const item = await pullOne(uri, before.get(uri), token).catch((error: unknown) => {
          if (token.isCancellationRequested) return null;
          throw error;
        });
        if (!item) return { items: [] };
        if (item.kind === 'full') items.push(item);
        needs.workspace.trim();
        await needs.host.pause();
      }
      for (const uri of before.keys()) {
        if (!uris.includes(uri))
          items.push({ kind: 'full', uri, version: null, items: [], resultId: results.idOf(uri, []) });
      }
      // A client of both kinds keeps what it pulled for a document that is closed until a report of the folders says otherwise.
      for (const uri of closed) {
        if (!uris.includes(uri) && !before.has(uri) && !needs.workspace.open.get(uri))
          items.push({ kind: 'full', uri, version: null, items: [], resultId: results.idOf(uri, []) });
      }
      closed.clear();
      const fresh = items.filter((item) => item.resultId !== before.get(item.uri));
      if (held.isFirstAnswer() || fresh.length > 0) return { items: fresh };
      // Nothing new: the answer waits for the next change, so that nobody polls.
      if (!(await held.next(generation, token))) return { items: [] };
    }
  };
  function askForPull(): void {
    if (client.refreshDiagnostics) void needs.connection.languages.diagnostics.refresh().catch(() => undefined);
  }
  const changed = (uris: readonly string[]): void => {
    held.wake();
    if (!client.pullDiagnostics) uris.forEach(push.schedule);
  };
  return {
    changed,
    changedOutside: (uris) => {
      changed(uris);
      if (client.pullDiagnostics && uris.length > 0) askForPull();
    },
    filesChanged: (uris) => {
      if (!client.pullDiagnostics) void push.scheduleFiles(uris);
    },
    closed: (uri) => {
      results.forget(uri);
      if (client.pullDiagnostics) closed.add(uri);
      held.wake();
      if (!client.pullDiagnostics) void push.clear(uri);
    },
    stop: push.stop,
    allChanged: () => {
      held.wake();
      if (client.pullDiagnostics) askForPull();
      else void push.scheduleAll();
    },
    pull: pullOpen,
    pullWorkspace,
  };
}

async function wantsWorkspace(workspace: Workspace): Promise<boolean> {
  return (await workspace.settings(null)).diagnosticsScope === 'workspace';
}

/** Problems of a document; `whole` is false while those of flow are missing. */
interface Found {
  readonly opened: Opened;
  readonly problems: readonly Problem[];
  readonly whole: boolean;
}

/**
 * Computes the problems of a document in slices, letting messages in between, once no newer version is on its way; null where it
 * was overtaken, cancelled or closed. What is known early is given where `isSlow` says so at that moment.
 */
async function workInSlices(
  { workspace, host }: DiagnosticsNeeds,
  uri: string,
  stop: () => boolean,
  isSlow: () => boolean = () => false,
): Promise<Found | null> {
  let early: Found | null = null;
  for (;;) {
    await settled(host, () => workspace.open.get(uri)?.version);
    const opened = await workspace.prepare(uri);
    if (!opened || stop()) return null;
    const steps = opened.document.work();
    let since = host.now();
    for (;;) {
      const step = steps.next();
      if (step.done) return { opened, problems: step.value.problems, whole: true };
      if (step.value) early = { opened, problems: step.value, whole: false };
      if (early && isSlow()) return early;
      if (host.now() - since < SLICE) continue;
      await host.pause();
      since = host.now();
      if (stop()) return null;
      if (workspace.get(uri)?.document !== opened.document) break;
    }
    early = null;
  }
}

/** Lets queued messages be taken in until none of them is an edit of the document. One pause lets one message through. */
async function settled(host: Host, version: () => number | undefined): Promise<void> {
  let before: number | undefined;
  do {
    before = version();
    await host.pause();
    await host.pause();
  } while (version() !== before);
}

function toDiagnostics(
  { client, workspace, proofs }: DiagnosticsNeeds,
  opened: Opened,
  found: readonly Problem[],
): Diagnostic[] {
  const { document, text } = opened;
  const textOf = (uri: string) => (uri === text.uri ? text : workspace.textOf(uri));
  const problems = [...found, ...proofs.problems(document)];
  return problems.map((problem) => toLspDiagnostic(text, textOf, client, problem));
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
    has: (uri: string) => last.has(uri),
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

/** Push: one queue, open documents first, one document at a time; the newest version of each counts. */
function createPush(needs: DiagnosticsNeeds) {
  const { connection, workspace, log, host } = needs;
  const queue = new Set<string>();
  /** Documents of which something has been published. */
  const shown = new Set<string>();
  const gone = new Set<string>();
  let busy = false;
  let stopped = false;

  const send = async (uri: string, opened: Opened, problems: readonly Problem[]): Promise<void> => {
    const diagnostics = toDiagnostics(needs, opened, problems);
    const version = workspace.open.get(uri) ? opened.document.version : undefined;
    shown.add(uri);
    await connection.sendDiagnostics({ uri, diagnostics, ...(version === undefined ? {} : { version }) });
  };
  /** Whether something more urgent waits than a file that is not open. */
  const isUrgent = (uri: string): boolean =>
    !workspace.open.get(uri) && [...queue].some((other) => workspace.open.get(other));
  const runOnce = async (uri: string): Promise<void> => {
    const started = host.now();
    const stop = (): boolean => stopped || queue.has(uri) || gone.has(uri) || isUrgent(uri);
    const isSlow = (): boolean => !shown.has(uri) && host.now() - started > FIRST_ANSWER;
    const first = await workInSlices(needs, uri, stop, isSlow);
    if (!first || stop()) return;
    await send(uri, first.opened, first.problems);
    if (first.whole) return;
    const rest = await workInSlices(needs, uri, stop);
    if (rest && !stop()) await send(uri, rest.opened, rest.problems);
  };
  const next = (): string | undefined => {
    for (const uri of queue) if (workspace.open.get(uri)) return uri;
    return queue.values().next().value;
  };
  const run = async (): Promise<void> => {
    if (busy) return;
    busy = true;
    for (let uri = next(); uri !== undefined; uri = next()) {
      queue.delete(uri);
      try {
        await runOnce(uri);
      } catch (error) {
        log(`diagnostics: ${describeError(error)}`);
      }
      if (!workspace.open.get(uri)) workspace.trim();
      if (isUrgent(uri)) queue.add(uri);
      await host.pause();
    }
    busy = false;
  };
  const schedule = (uri: string): void => {
    if (stopped) return;
    gone.delete(uri);
    queue.add(uri);
    void run();
  };
  const wipe = async (uri: string): Promise<void> => {
    shown.delete(uri);
    await connection.sendDiagnostics({ uri, diagnostics: [] });
  };
  return {
    schedule,
    stop: (): void => {
      stopped = true;
      queue.clear();
    },
    /** Files changed on disk: where all files are wanted, each gets new problems, or none any more. */
    scheduleFiles: async (uris: readonly string[]): Promise<void> => {
      if (!(await wantsWorkspace(workspace))) return;
      for (const uri of uris) {
        if (await workspace.prepare(uri)) schedule(uri);
        else if (shown.has(uri)) await wipe(uri);
      }
    },
    /** A closed document keeps its problems only where all files of the folders are wanted and it is still a file. */
    clear: async (uri: string): Promise<void> => {
      queue.delete(uri);
      gone.add(uri);
      const stays = (await wantsWorkspace(workspace)) && (await workspace.prepare(uri)) !== null;
      if (workspace.open.get(uri)) return;
      if (stays) return schedule(uri);
      await wipe(uri);
    },
    scheduleAll: async (): Promise<void> => {
      const uris = (await wantsWorkspace(workspace)) ? await workspace.all() : workspace.open.keys();
      uris.forEach(schedule);
    },
  };
}

/** Tells the preview that what it shows may have changed; the client asks again when it wants to. */
export function notifyPreview(connection: Connection, uri: string, version: number): void {
  void connection.sendNotification(PREVIEW_CHANGED, { uri, version });
}
