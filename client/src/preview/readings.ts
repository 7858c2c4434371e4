/** Readings of the built rig that one preview keeps: picked, held against each version of the text, explained, removed. */
import { l10n, ProgressLocation, Uri, window, workspace } from 'vscode';
import type { HostMessage } from '../../../server/protocol/preview';
import { READINGS, type Explained, type ReadingsParams, type ReadingsResult } from '../../../server/protocol/readings';
import { decodeText } from '../../../server/protocol/text-bytes';
import { reasonOf } from '../lifecycle';
import type { Server } from '../server';

export type ReadingsAction = 'choose' | 'remove' | 'diagnose';

export interface Readings {
  change(action: ReadingsAction, shown: Uri): Promise<void>;
  /** Holds them against the text again. */
  refresh(shown: Uri): Promise<void>;
  /** Another document is shown: they go. */
  drop(): void;
}

interface Kept {
  readonly file: string;
  readonly text: string;
  readonly scenario: string | null;
}

/** Larger logs belong to the command line. */
const MOST_BYTES = 64 * 1024 * 1024;

export function createReadings(server: Server, post: (message: HostMessage) => void): Readings {
  let kept: Kept | null = null;
  let explained: Explained | null = null;
  const ask = (
    shown: Uri,
    { text, scenario }: Kept,
    about: ReadingsParams['about'] = 'compare',
  ): Promise<ReadingsResult | null> =>
    server.ask<ReadingsResult>(READINGS, { uri: shown.toString(), text, scenario, about });
  /** What came of asking about readings; nothing where others are kept by now, or none. */
  const send = (shown: Uri, about: Kept, result: ReadingsResult | null): void => {
    if (result?.kind !== 'compared' || kept !== about) return;
    const { version, readings } = result;
    if (readings.diagnosis) explained = { version, diagnosis: readings.diagnosis };
    post({ type: 'readings', uri: shown.toString(), version, file: about.file, readings, explained });
  };

  async function choose(shown: Uri): Promise<void> {
    const uri = await chooseLog(shown);
    const text = uri && (await readText(uri));
    if (!uri || typeof text !== 'string') return;
    const file = uri.path.split('/').pop() ?? '';
    const first: Kept = { file, text, scenario: null };
    const result = await ask(shown, first);
    if (result?.kind === 'refused') return void window.showWarningMessage(`${file}: ${result.message}`);
    if (result?.kind !== 'compared') return;
    const scenario = await chooseCourse(result.readings.scenarios);
    if (scenario === undefined) return;
    const chosen: Kept = { ...first, scenario };
    [kept, explained] = [chosen, null];
    send(shown, chosen, scenario === null ? result : await ask(shown, chosen));
  }

  async function diagnose(shown: Uri): Promise<void> {
    if (kept === null) await choose(shown);
    if (kept === null) return;
    const about = kept;
    const title = l10n.t('Explaining {0}', about.file);
    // What explains readings takes longer than laying them over: it is asked for once, not at every edit.
    const result = await window.withProgress({ location: ProgressLocation.Window, title }, () =>
      ask(shown, about, 'diagnose'),
    );
    send(shown, about, result);
  }

  return {
    async change(action, shown) {
      if (action === 'choose') return choose(shown);
      if (action === 'diagnose') return diagnose(shown);
      [kept, explained] = [null, null];
      post({ type: 'readings', uri: shown.toString(), version: 0, file: '', readings: null, explained: null });
    },
    async refresh(shown) {
      const about = kept;
      if (about !== null) send(shown, about, await ask(shown, about));
    },
    drop: () => {
      [kept, explained] = [null, null];
    },
  };
}

/** What was run; undefined where nothing was chosen. */
async function chooseCourse(scenarios: readonly string[]): Promise<string | null | undefined> {
  if (scenarios.length === 0) return null;
  const items = [
    { label: l10n.t('As the readings suggest'), scenario: null as string | null },
    ...scenarios.map((name) => ({ label: l10n.t('Scenario {0}', name), scenario: name as string | null })),
  ];
  const chosen = await window.showQuickPick(items, {
    placeHolder: l10n.t('What the rig went through while the readings were taken'),
  });
  return chosen?.scenario;
}

async function chooseLog(shown: Uri): Promise<Uri | undefined> {
  const found = await workspace.findFiles('**/*.csv', undefined, 500);
  const items = found.map((uri) => ({ label: workspace.asRelativePath(uri), uri: uri as Uri | null }));
  items.sort((a, b) => a.label.localeCompare(b.label));
  items.push({ label: l10n.t('Another file…'), uri: null });
  const chosen = await window.showQuickPick(items, { placeHolder: l10n.t('Readings of the built rig, as CSV') });
  if (!chosen || chosen.uri) return chosen?.uri ?? undefined;
  const defaultUri = shown.scheme === 'untitled' ? undefined : Uri.joinPath(shown, '..');
  const filters = { [l10n.t('Readings')]: ['csv', 'tsv', 'txt'] };
  return (await window.showOpenDialog({ filters, canSelectMany: false, ...(defaultUri ? { defaultUri } : {}) }))?.[0];
}

async function readText(uri: Uri): Promise<string | null> {
  try {
    if ((await workspace.fs.stat(uri)).size > MOST_BYTES) {
      void window.showWarningMessage(
        l10n.t('The readings are larger than 64 MB. Use caisson compare on the command line.'),
      );
      return null;
    }
    const decoded = decodeText(await workspace.fs.readFile(uri));
    if (decoded.ok) return decoded.text;
    void window.showWarningMessage(l10n.t('The file {0}.', decoded.reason));
  } catch (error) {
    void window.showWarningMessage(l10n.t('The readings cannot be read: {0}', reasonOf(error)));
  }
  return null;
}
