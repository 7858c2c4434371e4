/** Diagnostics that are sent unasked: one queue, open documents first, one document at a time; the newest version of each counts. */
import type { Problem } from '../core/model/problem';
import { createNews, type DiagnosticsNeeds, problemsOf, toDiagnostics, wantsWorkspace } from './diagnostics-work';
import { describeError } from './request';
import type { Opened, Workspace } from './workspace';

/** Sends problems; what it is called with says only what may have changed. */
export interface Push {
  schedule(uri: string): void;
  /** Files changed on disk: where all files are wanted, each gets new problems, or none any more. */
  scheduleFiles(uris: readonly string[]): Promise<void>;
  scheduleAll(): Promise<void>;
  /** A closed document keeps its problems only where all files of the folders are wanted and it is still a file. */
  clear(uri: string): Promise<void>;
  /** Gives up what waits and what is being checked. */
  stop(): void;
}

export function createPush(needs: DiagnosticsNeeds): Push {
  const { workspace, log } = needs;
  const queue = createQueue(workspace);
  const publisher = createPublisher(needs, queue);
  let busy = false;

  const run = async (): Promise<void> => {
    if (busy) return;
    busy = true;
    for (let uri = queue.take(); uri !== undefined; uri = queue.take()) {
      try {
        await publisher.publish(uri);
      } catch (error) {
        log(`diagnostics: ${describeError(error)}`);
      }
      if (!workspace.open.get(uri)) workspace.trim();
      queue.postpone(uri);
    }
    busy = false;
  };
  const schedule = (uri: string): void => {
    if (queue.add(uri)) void run();
  };
  return {
    schedule,
    stop: queue.stop,
    scheduleFiles: async (uris) => {
      if (!(await wantsWorkspace(workspace))) return;
      for (const uri of uris) {
        if (await workspace.prepare(uri)) schedule(uri);
        else if (publisher.isShown(uri)) await publisher.wipe(uri);
      }
    },
    clear: async (uri) => {
      queue.drop(uri);
      const stays = (await wantsWorkspace(workspace)) && (await workspace.prepare(uri)) !== null;
      if (workspace.open.get(uri)) return;
      if (stays) return schedule(uri);
      await publisher.wipe(uri);
    },
    scheduleAll: async () => {
      const uris = (await wantsWorkspace(workspace)) ? await workspace.all() : workspace.open.keys();
      uris.forEach(schedule);
    },
  };
}

type Queue = ReturnType<typeof createQueue>;

/** Documents that wait for their problems to be sent, each once. */
function createQueue(workspace: Workspace) {
  const waiting = new Set<string>();
  /** Dropped and not asked for since. */
  const gone = new Set<string>();
  let stopped = false;
  const next = (): string | undefined => {
    for (const uri of waiting) if (workspace.open.get(uri)) return uri;
    return waiting.values().next().value;
  };
  /** Whether something more urgent waits than a file that is not open. */
  const yields = (uri: string): boolean =>
    !workspace.open.get(uri) && [...waiting].some((other) => workspace.open.get(other));
  return {
    /** False once stopped. */
    add: (uri: string): boolean => {
      if (stopped) return false;
      gone.delete(uri);
      waiting.add(uri);
      return true;
    },
    drop: (uri: string): void => {
      waiting.delete(uri);
      gone.add(uri);
    },
    /** Puts a document back that gave way to a more urgent one. */
    postpone: (uri: string): void => {
      if (yields(uri) && !stopped && !gone.has(uri)) waiting.add(uri);
    },
    /** Takes the next document out: open ones first. */
    take: (): string | undefined => {
      const uri = next();
      if (uri !== undefined) waiting.delete(uri);
      return uri;
    },
    /** Whether work on a document that was taken is in vain by now: it waits anew, was dropped, or something more urgent waits. */
    isOvertaken: (uri: string): boolean => stopped || waiting.has(uri) || gone.has(uri) || yields(uri),
    stop: (): void => {
      stopped = true;
      waiting.clear();
    },
  };
}

/** Computes the problems of a document and sends them: in two parts where the whole takes long and the first has news. */
function createPublisher(needs: DiagnosticsNeeds, queue: Queue) {
  const { connection, workspace, host } = needs;
  const news = createNews(host);
  const send = async (uri: string, opened: Opened, problems: readonly Problem[]): Promise<void> => {
    const diagnostics = toDiagnostics(needs, opened, problems);
    const version = workspace.open.get(uri) ? opened.document.version : undefined;
    news.note(uri, problems);
    await connection.sendDiagnostics({ uri, diagnostics, ...(version === undefined ? {} : { version }) });
  };
  return {
    isShown: news.isGiven,
    publish: async (uri: string): Promise<void> => {
      const started = host.now();
      const stop = (): boolean => queue.isOvertaken(uri);
      const isEnough = (early: readonly Problem[]): boolean => news.isWorthIt(uri, started, early);
      const urgency = workspace.open.get(uri) ? 'open' : 'rest';
      const first = await problemsOf(needs, uri, urgency, stop, isEnough);
      if (!first || stop()) return;
      await send(uri, first.opened, first.problems);
      if (first.whole) return;
      const rest = await problemsOf(needs, uri, urgency, stop);
      if (rest && !stop()) await send(uri, rest.opened, rest.problems);
    },
    wipe: async (uri: string): Promise<void> => {
      news.forget(uri);
      await connection.sendDiagnostics({ uri, diagnostics: [] });
    },
  };
}
