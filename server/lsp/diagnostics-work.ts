/** Problems of one document for the editor, computed in slices, whether it asks for them or has them sent. */
import type { Connection, Diagnostic } from 'vscode-languageserver';
import type { Problem } from '../core/model/problem';
import type { ClientFacts } from './client-facts';
import { toLspDiagnostic } from './convert';
import type { Host } from './host';
import type { Proofs } from './proofs';
import type { Log } from './request';
import { SLICE } from './slices';
import type { Opened, Workspace } from './workspace';

/** A first answer that takes longer is given in two parts. */
export const FIRST_ANSWER = 60;

export interface DiagnosticsNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly client: ClientFacts;
  readonly host: Host;
  readonly log: Log;
  readonly proofs: Proofs;
}

/** Whether problems of all files of the folders are wanted, not those of open documents alone. */
export async function wantsWorkspace(workspace: Workspace): Promise<boolean> {
  return (await workspace.settings(null)).diagnosticsScope === 'workspace';
}

/** Problems of a document; `whole` is false while those of flow are missing. */
export interface Found {
  readonly opened: Opened;
  readonly problems: readonly Problem[];
  readonly whole: boolean;
}

/**
 * Computes the problems of a document in slices, letting messages in between, once no newer version is on its way; null where it
 * was overtaken, cancelled or closed. What is known early is given where `isSlow` says so at that moment.
 */
export async function workInSlices(
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

export function toDiagnostics(
  { client, workspace, proofs }: DiagnosticsNeeds,
  opened: Opened,
  found: readonly Problem[],
): Diagnostic[] {
  const { document, text } = opened;
  const textOf = (uri: string) => (uri === text.uri ? text : workspace.textOf(uri));
  const problems = [...found, ...proofs.problems(document)];
  return problems.map((problem) => toLspDiagnostic(text, textOf, client, problem));
}
