/**
 * Proofs asked for in the editor: run in slices so that typing goes on, with progress, cancellation and a budget. What they found
 * stays with the text it was found for; any edit of the file drops it.
 */
import type { CancellationToken, Connection, ResponseError } from 'vscode-languageserver';
import type { RigDocument } from '../core/document/document';
import { overrideNote } from '../core/document/overrides';
import type { ProofMark } from '../core/diagram/preview-model';
import type { TimingModel } from '../core/diagram/timing/model';
import { isIncomplete } from '../core/features/lookup';
import { counterExamples, proofMark, proofProblems, proofSummary } from '../core/features/proof-results';
import type { Problem } from '../core/model/problem';
import { CAUTION } from '../core/report/caution';
import { proofJson, proofReport } from '../core/report/proof-report';
import type { RigProof } from '../core/run/prove-rig';
import { proveRig } from '../core/run/prove-rig';
import { SHOW_PICTURE, type ProofAnswer } from '../protocol/messages';
import type { ClientFacts } from './client-facts';
import type { Host } from './host';
import { refused } from './request';
import type { Opened } from './workspace';

/** Longest stretch of work before waiting messages are looked at, in milliseconds. */
const SLICE = 20;
/** Symbolic states worked off between two looks at the clock. */
const TURN = 20;
const BUDGET = { states: 200_000, bytes: 512 * 1024 * 1024, milliseconds: 60_000 } as const;

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
        return refused(rigName === null ? 'There is no rig in this file.' : `There is no rig ${rigName} in this file.`);
      if (isIncomplete(rig)) return refused('The rig has mistakes in its control, so nothing is proved about it.');
      const proof = proveRig(rig);
      if (!(await work(needs, proof, token))) return refused('The proof was stopped.');
      const result = { problems: proofProblems(proof), pictures: counterExamples(proof), mark: proofMark(proof) };
      kept.set(document.uri, { text: document.text, byRig: new Map([...of(document), [rig.name, result]]) });
      needs.found(document.uri);
      const told = [proofSummary(proof), overrideNote(document.resolved())].join(' ').trim();
      if (telling === 'tell') void tell(needs, told, { uri: document.uri, rig: rig.name }, result.mark);
      const note = overrideNote(document.resolved());
      const summary = note === '' ? proofSummary(proof) : `${proofSummary(proof)} ${note}`;
      const report = note === '' ? proofReport(proof) : [...proofReport(proof), note];
      return { summary, report, result: proofJson(proof), caution: CAUTION };
    },
  };
}

const SHOW = 'Show the counter-example';

/** Says in the client's window what was found, and offers the picture of the first counter-example where the client can show it. */
async function tell(
  { connection, client }: ProofsNeeds,
  text: string,
  place: { readonly uri: string; readonly rig: string },
  { examples }: ProofMark,
): Promise<void> {
  const picture = examples[0]?.picture;
  if (picture === undefined || client().options.preview !== true) return connection.window.showInformationMessage(text);
  const choice = await connection.window.showWarningMessage(text, { title: SHOW });
  if (choice?.title === SHOW) void connection.sendNotification(SHOW_PICTURE, { ...place, picture });
}

/** Works a proof off within the budget; false where it was cancelled. */
async function work(needs: ProofsNeeds, { rig, proof }: RigProof, token: CancellationToken): Promise<boolean> {
  const { host } = needs;
  const progress = await beginProgress(needs, `Proving ${rig.name}`);
  const started = host.now();
  try {
    for (;;) {
      const sliceStart = host.now();
      let done = false;
      while (!done && host.now() - sliceStart < SLICE) done = proof.run(TURN);
      if (done || isSpent(proof, host.now() - started)) return true;
      progress.report(`${proof.explored} symbolic states`);
      await host.pause();
      if (token.isCancellationRequested || progress.isCancelled()) return false;
    }
  } finally {
    progress.done();
  }
}

function isSpent(proof: RigProof['proof'], milliseconds: number): boolean {
  return proof.explored >= BUDGET.states || proof.bytes >= BUDGET.bytes || milliseconds >= BUDGET.milliseconds;
}

/** Progress in the client's window, where it shows such; told at most a few times a second. */
async function beginProgress({ connection, client, host }: ProofsNeeds, title: string) {
  if (!client().workDoneProgress) return { report: () => undefined, done: () => undefined, isCancelled: () => false };
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
  };
}
