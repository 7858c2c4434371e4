/**
 * Proofs asked for in the editor: run in a thread of their own, or where there is none in turns with everything else, so that typing
 * goes on, with progress, cancellation and a budget. What they found stays with the text it was found for; any edit of the file drops it.
 */
import type { CancellationToken, Connection, ResponseError } from 'vscode-languageserver';
import type { RigDocument } from '../core/document/document';
import { overrideNote } from '../core/document/overrides';
import type { ProofMark } from '../core/diagram/preview-model';
import type { TimingModel } from '../core/diagram/timing/model';
import { isIncomplete } from '../core/features/lookup';
import { withoutAllowed } from '../core/document/allowances';
import { counterExamples, proofMark, proofProblems, proofSummary } from '../core/features/proof-results';
import type { Problem } from '../core/model/problem';
import { caution } from '../core/report/caution';
import { proofJson, proofReport } from '../core/report/proof-report';
import type { RigProof } from '../core/run/prove-rig';
import { proveRig } from '../core/run/prove-rig';
import type { Rig } from '../core/model/rig';
import type { Work } from '../core/work/work';
import { spentBudget, type ProofBudget } from '../core/proof/budget';
import { SHOW_PICTURE, type ProofAnswer } from '../protocol/messages';
import type { ClientFacts } from './client-facts';
import type { Host } from './host';
import type { StartProof } from './proof-thread';
import { refused } from './request';
import type { Turns } from './turns';
import type { Opened } from './workspace';
import { say } from '../core/words/say';

/** What a proof asked for in the editor may cost. */
const BUDGET: ProofBudget = { states: 200_000, bytes: 512 * 1024 * 1024, seconds: 60 };

export interface Proofs {
  run(
    opened: Opened,
    rigName: string | null,
    token: CancellationToken,
    telling: 'tell' | 'quiet',
  ): Promise<ProofAnswer | ResponseError>;
  /** Problems that proofs of exactly this text have found. */
  problems(document: RigDocument): readonly Problem[];
  /** Counter-examples found for a rig of exactly this text. */
  pictures(document: RigDocument, rig: string): readonly TimingModel[];
  /** What was found about a rig of exactly this text; null where nothing was asked. */
  mark(document: RigDocument, rig: string): ProofMark | null;
}

export interface ProofsNeeds {
  readonly connection: Connection;
  readonly host: Host;
  readonly turns: Turns;
  readonly client: () => ClientFacts;
  /** Called when a proof has ended, so that problems and pictures are shown. */
  readonly found: (uri: string) => void;
}

interface Kept {
  readonly text: string;
  readonly byRig: ReadonlyMap<string, Found>;
}

interface Found {
  readonly problems: readonly Problem[];
  readonly pictures: readonly TimingModel[];
  readonly mark: ProofMark;
}

export function createProofs(needs: ProofsNeeds): Proofs {
  const kept = new Map<string, Kept>();
  const of = (document: RigDocument): Kept['byRig'] => {
    const entry = kept.get(document.uri);
    return entry?.text === document.text ? entry.byRig : new Map();
  };
  return {
    problems: (document) => [...of(document).values()].flatMap((r) => r.problems),
    pictures: (document, rig) => of(document).get(rig)?.pictures ?? [],
    mark: (document, rig) => of(document).get(rig)?.mark ?? null,
    run: async ({ document }, rigName, token, telling) => {
      const { rigs } = document.resolved();
      const rig = rigName === null ? rigs[0] : rigs.find((r) => r.name === rigName);
      if (!rig)
        return refused(
          rigName === null ? say`There is no rig in this file.` : say`There is no rig ${rigName} in this file.`,
        );
      if (isIncomplete(rig)) return refused(say`The rig has mistakes in its control, so nothing is proved about it.`);
      const proof = await proved(needs, rig, token);
      if (proof === null) return refused(say`The proof was stopped.`);
      if (typeof proof === 'string') return refused(proof);
      const file = { uri: document.uri, text: document.text, tokens: document.parsed().tokens };
      const { problems } = withoutAllowed(file, proofProblems(proof));
      const result = { problems, pictures: counterExamples(proof), mark: proofMark(proof) };
      kept.set(document.uri, { text: document.text, byRig: new Map([...of(document), [rig.name, result]]) });
      needs.found(document.uri);
      const message = [proofSummary(proof), overrideNote(document.resolved())].join(' ').trim();
      if (telling === 'tell') void tell(needs, message, { uri: document.uri, rig: rig.name }, result.mark);
      const note = overrideNote(document.resolved());
      const summary = note === '' ? proofSummary(proof) : `${proofSummary(proof)} ${note}`;
      const report = note === '' ? proofReport(proof) : [...proofReport(proof), note];
      return { summary, report, result: proofJson(proof), caution: caution() };
    },
  };
}

/** Says in the client's window what was found, and offers the picture of the first counter-example where the client can show it. */
async function tell(
  { connection, client }: ProofsNeeds,
  text: string,
  place: { readonly uri: string; readonly rig: string },
  { examples }: ProofMark,
): Promise<void> {
  const picture = examples[0]?.picture;
  if (picture === undefined || client().options.preview !== true) return connection.window.showInformationMessage(text);
  const show = say`Show the counter-example`;
  const choice = await connection.window.showWarningMessage(text, { title: show });
  if (choice?.title === show) void connection.sendNotification(SHOW_PICTURE, { ...place, picture });
}

/** The proof of a rig within the budget; null where it was cancelled, a sentence where nothing can be said. */
async function proved(needs: ProofsNeeds, rig: Rig, token: CancellationToken): Promise<RigProof | string | null> {
  const progress = await beginProgress(needs, say`Proving ${rig.name}`);
  try {
    const start = needs.host.startProof;
    return await (start ? inThread(start, rig, token, progress) : inTurns(needs, rig, token, progress));
  } finally {
    progress.done();
  }
}

async function inThread(
  start: StartProof,
  rig: Rig,
  token: CancellationToken,
  progress: Progress,
): Promise<RigProof | string | null> {
  const thread = start(rig, BUDGET, (explored) => progress.report(say`${explored} symbolic states`));
  const stopped = new Promise<null>((resolve) => {
    const stop = (): void => {
      thread.stop();
      resolve(null);
    };
    token.onCancellationRequested(stop);
    progress.onCancel(stop);
  });
  const lost = (error: unknown): string =>
    say`Nothing is proved about ${rig.name}: ${error instanceof Error ? error.message : String(error)}. caisson prove on the command line may be given more memory.`;
  return Promise.race([thread.answer.catch(lost), stopped]);
}

/** Where there are no threads. A proof is never more urgent than what is shown of open files. */
async function inTurns(
  { host, turns }: ProofsNeeds,
  rig: Rig,
  token: CancellationToken,
  progress: Progress,
): Promise<RigProof | null> {
  const found = await turns.run(
    proving(host, rig, progress),
    'rest',
    () => token.isCancellationRequested || progress.isCancelled(),
  );
  return found && found.value;
}

function* proving(host: Host, rig: Rig, progress: Progress): Work<RigProof> {
  const started = host.now();
  const rigProof = proveRig(rig);
  const { proof } = rigProof;
  for (;;) {
    if (proof.run(1)) return rigProof;
    const spent = spentBudget(proof, BUDGET, (host.now() - started) / 1000);
    if (spent) {
      proof.giveUp(spent);
      return rigProof;
    }
    progress.report(say`${proof.explored} symbolic states`);
    yield;
  }
}

interface Progress {
  report(message: string): void;
  done(): void;
  isCancelled(): boolean;
  onCancel(stop: () => void): void;
}

/** Progress in the client's window, where it shows such; reported at most a few times a second. */
async function beginProgress({ connection, client, host }: ProofsNeeds, title: string): Promise<Progress> {
  const nothing = (): void => undefined;
  if (!client().workDoneProgress)
    return { report: nothing, done: nothing, isCancelled: () => false, onCancel: nothing };
  const progress = await connection.window.createWorkDoneProgress();
  progress.begin(title, undefined, undefined, true);
  let said = host.now();
  return {
    report: (message: string): void => {
      if (host.now() - said < 300) return;
      said = host.now();
      progress.report(message);
    },
    done: () => progress.done(),
    isCancelled: () => progress.token.isCancellationRequested,
    onCancel: (stop) => void progress.token.onCancellationRequested(stop),
  };
}
