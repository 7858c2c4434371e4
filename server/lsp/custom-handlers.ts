/** Registers the messages that are ours: preview, requirements as tests, commands that any editor can call. */
import type { CancellationToken, Connection, ResponseError } from 'vscode-languageserver';
import type { Look } from '../core/diagram/kit/palette';
import { timingModelsWork } from '../core/diagram/timing/model';
import { noted } from '../core/diagram/kit/noted';
import { renderTimingSvg } from '../core/diagram/timing/svg';
import { documentDifferences } from '../core/document/differences';
import { caution } from '../core/report/caution';
import { overrideNote } from '../core/document/overrides';
import { computing, type Need } from '../core/document/needs';
import { testGroups } from '../core/features/test-items';
import { isIncomplete } from '../core/features/lookup';
import type { TimingJson } from '../core/report/timing-json';
import { timingJson } from '../core/report/timing-json';
import { BY_HAND, type ByHandAnswer, type ByHandParams } from '../protocol/by-hand';
import type {
  DifferencesAnswer,
  DifferencesParams,
  PreviewParams,
  TestsParams,
  TestsResult,
} from '../protocol/messages';
import { COMMANDS, DIFFERENCES, PREVIEW, TELL, TESTS } from '../protocol/messages';
import type { PreviewAnswer } from '../protocol/preview';
import { READINGS, type ReadingsParams, type ReadingsResult } from '../protocol/readings';
import { SHEET, type SheetParams, type SheetResult } from '../protocol/sheet';
import { TUNE, type TuneParams, type TuneResult } from '../protocol/suggestion';
import { previewAnswer } from './preview-answer';
import { byHand, byHandUrgency } from './by-hand';
import type { Proofs } from './proofs';
import { readingsWork } from './readings';
import type { Log } from './request';
import { answer, refused } from './request';
import { sheetResult } from './sheet';
import { patiently, type Work } from '../core/work/work';
import type { Turns, Urgency } from './turns';
import { tuneWork } from './tune';
import type { Opened, Workspace } from './workspace';
import { say } from '../core/words/say';

export interface CustomNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly log: Log;
  readonly proofs: Proofs;
  readonly turns: Turns;
}

/** Answers about one document, computed in turns with everything else: first what is needed, then the answer itself. */
const answering =
  ({ workspace, log, turns }: CustomNeeds) =>
  <P extends { readonly uri: string }, R>(
    name: string,
    need: (params: P) => Need,
    work: (opened: Opened, params: P, token: CancellationToken) => Work<R>,
    urgency: (params: P) => Urgency = () => 'open',
  ) =>
  (params: P, token: CancellationToken) =>
    answer<R | null>(name, log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      if (!opened) return null;
      const all = function* (): Work<R> {
        yield* computing(opened.document, need(params));
        return yield* work(opened, params, token);
      };
      const done = await turns.run(all(), urgency(params), () => token.isCancellationRequested);
      return done && done.value;
    });

export function registerCustom({ connection, workspace, log, proofs, turns }: CustomNeeds): void {
  const inTurns = answering({ connection, workspace, log, proofs, turns });
  connection.onRequest(
    BY_HAND,
    inTurns<ByHandParams, ByHandAnswer | null>('by hand', () => 'text', byHand, byHandUrgency),
  );
  connection.onRequest(
    SHEET,
    inTurns<SheetParams, SheetResult>(
      'build sheet',
      () => 'verdicts',
      ({ document }, params) => sheetResult(document, params),
    ),
  );
  connection.onRequest(
    READINGS,
    inTurns<ReadingsParams, ReadingsResult>(
      'readings',
      () => 'times',
      ({ document }, params) => readingsWork(document, params),
    ),
  );
  connection.onRequest(
    TUNE,
    inTurns<TuneParams, TuneResult>('tune', () => 'text', tuneWork),
  );
  connection.onRequest(
    PREVIEW,
    inTurns<PreviewParams, PreviewAnswer>(
      'preview',
      ({ stores }) => (stores ? 'flow' : 'times'),
      (opened, { stores }) => previewAnswer(opened, proofs, stores ? 'shown' : 'hidden'),
    ),
  );
  connection.onRequest(DIFFERENCES, (params: DifferencesParams, token) =>
    answer<DifferencesAnswer | null>('differences', log, token, null, async () => {
      const [shown, other] = [await workspace.prepare(params.uri), await workspace.prepare(params.other)];
      if (!shown || !other) return null;
      const all = function* (): Work<DifferencesAnswer> {
        for (const { document } of [shown, other]) yield* computing(document, 'verdicts');
        return yield* documentDifferences(other.document, shown.document);
      };
      const done = await turns.run(all(), 'open', () => token.isCancellationRequested);
      return done && done.value;
    }),
  );
  connection.onRequest(
    TESTS,
    inTurns<TestsParams, TestsResult>(
      'tests',
      () => 'verdicts',
      (opened) => patiently(() => testsResult(opened)),
    ),
  );
  connection.onExecuteCommand((params, token) =>
    answer<unknown>(params.command, log, token, null, () =>
      runCommand({ workspace, proofs, token, turns }, params.command, params.arguments ?? []),
    ),
  );
}

function testsResult({ document }: Opened): TestsResult {
  const note = overrideNote(document.resolved());
  const rigs = testGroups(document).map(({ items, ...rig }) => ({
    ...rig,
    requirements: items.map(({ verdict, ...item }) => ({
      ...item,
      verdict: verdict.state,
      message: note === '' ? verdict.message : `${verdict.message} ${note}`,
      related: verdict.places.map((p) => ({ ...p.at, message: p.message })),
    })),
  }));
  return { version: document.version, rigs };
}

interface CommandNeeds {
  readonly workspace: Workspace;
  readonly proofs: Proofs;
  readonly token: CancellationToken;
  readonly turns: Turns;
}

async function runCommand(
  { workspace, proofs, token, turns }: CommandNeeds,
  command: string,
  args: readonly unknown[],
): Promise<unknown | ResponseError> {
  const [uri, name, option] = args;
  if (typeof uri !== 'string') return refused(`${command} takes the URI of a document first.`);
  const opened = await workspace.prepare(uri);
  if (!opened) return refused(`There is no document ${uri}.`);
  const inTurns = async (work: () => Work<unknown>): Promise<unknown> => {
    const all = function* (): Work<unknown> {
      yield* computing(opened.document, 'times');
      return yield* work();
    };
    const done = await turns.run(all(), 'open', () => token.isCancellationRequested);
    return done && done.value;
  };
  if (command === COMMANDS.timing) return inTurns(() => timing(opened));
  if (command === COMMANDS.diagram) return inTurns(() => diagram(opened, name, option));
  if (command === COMMANDS.prove)
    return proofs.run(opened, typeof name === 'string' ? name : null, token, option === TELL ? 'tell' : 'quiet');
  return refused(`There is no command ${command}.`);
}

/** Facts of the rigs that could be read in full; a refusal where none could. */
function* timing({ document }: Opened): Work<TimingJson[] | ResponseError> {
  const all = document.analysed();
  const sound = all.filter((facts) => !isIncomplete(facts.rig));
  if (all.length > 0 && sound.length === 0)
    return refused(say`The rig has mistakes in its control, so its times are not computed.`);
  const found: TimingJson[] = [];
  for (const facts of sound) {
    found.push(yield* patiently(() => timingJson(facts)));
    yield;
  }
  return found;
}

const LOOKS: readonly Look[] = ['light', 'dark', 'print'];

/** SVG of a rig's first trigger; of the first rig where none is named. */
function* diagram({ document }: Opened, name: unknown, look: unknown): Work<string | ResponseError> {
  const { rigs } = document.resolved();
  const index = typeof name === 'string' ? rigs.findIndex((r) => r.name === name) : 0;
  if (!rigs[index])
    return refused(
      typeof name === 'string' ? say`There is no rig ${name} in this file.` : say`There is no rig in this file.`,
    );
  const [model] = yield* timingModelsWork(document.factsOf(index));
  yield;
  const picture = renderTimingSvg(model!, { look: LOOKS.find((l) => l === look) ?? 'light' });
  return noted(noted(picture, overrideNote(document.resolved())), caution());
}
