/** Registers the messages that are ours: preview, requirements as tests, commands that any editor can call. */
import type { CancellationToken, Connection, ResponseError } from 'vscode-languageserver';
import type { Look } from '../core/diagram/kit/palette';
import { timingModels } from '../core/diagram/timing/model';
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
import { byHand } from './by-hand';
import type { Proofs } from './proofs';
import { readingsWork } from './readings';
import type { Log } from './request';
import { answer, refused } from './request';
import { sheetResult } from './sheet';
import type { Turns } from './turns';
import { tuneRig } from './tune';
import type { Opened, Workspace } from './workspace';

export interface CustomNeeds {
  readonly connection: Connection;
  readonly workspace: Workspace;
  readonly log: Log;
  readonly proofs: Proofs;
  readonly turns: Turns;
}

export function registerCustom({ connection, workspace, log, proofs, turns }: CustomNeeds): void {
  const computed = (opened: Opened, need: Need, token: CancellationToken) =>
    turns.run(computing(opened.document, need), 'open', () => token.isCancellationRequested);
  connection.onRequest(BY_HAND, (params: ByHandParams, token) =>
    answer<ByHandAnswer | null>('by hand', log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      return opened && byHand(opened, params, turns, () => token.isCancellationRequested);
    }),
  );
  connection.onRequest(SHEET, (params: SheetParams, token) =>
    answer<SheetResult | null>('build sheet', log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      return opened && (await computed(opened, 'verdicts', token)) ? sheetResult(opened.document, params) : null;
    }),
  );
  connection.onRequest(READINGS, (params: ReadingsParams, token) =>
    answer<ReadingsResult | null>('readings', log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      if (!opened || !(await computed(opened, 'times', token))) return null;
      const found = await turns.run(readingsWork(opened.document, params), 'open', () => token.isCancellationRequested);
      return found && found.value;
    }),
  );
  connection.onRequest(TUNE, (params: TuneParams, token) =>
    answer<TuneResult | null>('tune', log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      return opened && tuneRig(opened, params, turns, () => token.isCancellationRequested);
    }),
  );
  connection.onRequest(PREVIEW, (params: PreviewParams, token) =>
    answer<PreviewAnswer | null>('preview', log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      const isReady = opened && (await computed(opened, params.stores ? 'flow' : 'times', token));
      return opened && isReady ? previewAnswer(opened, proofs, params.stores ? 'shown' : 'hidden') : null;
    }),
  );
  connection.onRequest(DIFFERENCES, (params: DifferencesParams, token) =>
    answer<DifferencesAnswer | null>('differences', log, token, null, async () => {
      const [shown, other] = [await workspace.prepare(params.uri), await workspace.prepare(params.other)];
      if (!shown || !other) return null;
      const isReady = (await computed(shown, 'verdicts', token)) && (await computed(other, 'verdicts', token));
      return isReady ? documentDifferences(other.document, shown.document) : null;
    }),
  );
  connection.onRequest(TESTS, (params: TestsParams, token) =>
    answer<TestsResult | null>('tests', log, token, null, async () => {
      const opened = await workspace.prepare(params.uri);
      return opened && (await computed(opened, 'verdicts', token)) ? testsResult(opened) : null;
    }),
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
  if (command === COMMANDS.timing || command === COMMANDS.diagram)
    await turns.run(computing(opened.document, 'times'), 'open', () => token.isCancellationRequested);
  if (token.isCancellationRequested) return null;
  if (command === COMMANDS.timing) return timing(opened);
  if (command === COMMANDS.diagram) return diagram(opened, name, option);
  if (command === COMMANDS.prove)
    return proofs.run(opened, typeof name === 'string' ? name : null, token, option === TELL ? 'tell' : 'quiet');
  return refused(`There is no command ${command}.`);
}

/** Facts of the rigs that could be read in full; a refusal where none could. */
function timing({ document }: Opened): TimingJson[] | ResponseError {
  const all = document.analysed();
  const sound = all.filter((facts) => !isIncomplete(facts.rig));
  if (all.length > 0 && sound.length === 0)
    return refused('The rig has mistakes in its control, so its times are not computed.');
  return sound.map(timingJson);
}

const LOOKS: readonly Look[] = ['light', 'dark', 'print'];

/** SVG of a rig's first trigger; of the first rig where none is named. */
function diagram({ document }: Opened, name: unknown, look: unknown): string | ResponseError {
  const { rigs } = document.resolved();
  const index = typeof name === 'string' ? rigs.findIndex((r) => r.name === name) : 0;
  if (!rigs[index])
    return refused(
      typeof name === 'string' ? `There is no rig ${name} in this file.` : 'There is no rig in this file.',
    );
  const model = timingModels(document.factsOf(index))[0]!;
  const picture = renderTimingSvg(model, { look: LOOKS.find((l) => l === look) ?? 'light' });
  return noted(noted(picture, overrideNote(document.resolved())), caution());
}
