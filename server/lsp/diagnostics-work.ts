/** Problems of one document for the editor, computed in turns, whether it asks for them or has them sent. */
import type { Connection, Diagnostic } from 'vscode-languageserver';
import type { Checked, RigDocument } from '../core/document/document';
import { isLate } from '../core/checks/registry';
import type { Problem } from '../core/model/problem';
import type { Work } from '../core/work/work';
import type { ClientFacts } from './client-facts';
import { toLspDiagnostic } from './convert-problems';
import type { Host } from './host';
import type { Proofs } from './proofs';
import type { Log } from './request';
import type { Turns, Urgency } from './turns';
import type { Opened, Workspace } from './workspace';

/** An answer that takes longer is given in two parts, where the first has news. */
const FIRST_ANSWER = 60;

export interface DiagnosticsNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly client: ClientFacts;
  readonly host: Host;
  readonly turns: Turns;
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

/** What was last given for each document, so that an answer in two parts is given only where the first part has news. */
export type News = ReturnType<typeof createNews>;

const keyOf = ({ code, message }: Problem): string => `${code} ${message}`;
const quickOnes = (problems: readonly Problem[]): Set<string> => new Set(problems.filter((p) => !isLate(p)).map(keyOf));

/**
 * A first part leaves out what takes long (flow, requirements) of rigs that changed, so that it vanishes and comes back. That is
 * worth it where a mistake is to be shown or taken back at once, and the rest takes long; otherwise what is shown stays until the whole is known.
 */
export function createNews({ now }: Pick<Host, 'now'>) {
  const given = new Map<string, ReadonlySet<string>>();
  return {
    /** Asked about what is known early of a document whose answer was begun at `started`: whether to give it now. */
    isWorthIt: (uri: string, started: number, early: readonly Problem[]): boolean => {
      if (now() - started <= FIRST_ANSWER) return false;
      const before = given.get(uri);
      const present = quickOnes(early);
      return !before || present.size !== before.size || [...present].some((key) => !before.has(key));
    },
    isGiven: (uri: string): boolean => given.has(uri),
    note: (uri: string, problems: readonly Problem[]): void => void given.set(uri, quickOnes(problems)),
    forget: (uri: string): void => void given.delete(uri),
  };
}

/**
 * Computes the problems of a document in turns; a version that is overtaken half way is dropped for the newest. Null where `stop` ended
 * it or there is no such document. What is known early is given where `isEnough` says so.
 */
export async function problemsOf(
  { workspace, turns }: DiagnosticsNeeds,
  uri: string,
  urgency: Urgency,
  stop: () => boolean,
  isEnough: (early: readonly Problem[]) => boolean = () => false,
): Promise<Found | null> {
  for (;;) {
    const opened = await workspace.prepare(uri);
    if (!opened || stop()) return null;
    let early: readonly Problem[] | null = null;
    const work = noting(opened.document.work(), (problems) => (early = problems));
    const isOvertaken = (): boolean => workspace.get(uri)?.document !== opened.document;
    const isAnswer = (): boolean => early !== null && isEnough(early);
    const done = await turns.run(work, urgency, () => stop() || isOvertaken() || isAnswer());
    if (done) return { opened, problems: done.value.problems, whole: true };
    if (stop()) return null;
    if (early && !isOvertaken()) return { opened, problems: early, whole: false };
  }
}

/** The same work, telling what is known early. */
function* noting(steps: ReturnType<RigDocument['work']>, early: (problems: readonly Problem[]) => void): Work<Checked> {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    if (step.value) early(step.value);
    yield;
  }
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
