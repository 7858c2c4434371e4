/** The command that writes the report of a rig: one HTML page, made by the command line from the saved file. */
import { env, l10n, ProgressLocation, Uri, window, workspace, type LogOutputChannel } from 'vscode';
import { SETTINGS_SECTION } from '../../server/protocol/settings';
import { reasonOf } from './lifecycle';
import type { CommandLineRun, Platform } from './platform';

export interface ReportNeeds {
  readonly platform: Platform;
  readonly log: LogOutputChannel;
}

/** Asks where to, saves the text, writes the page, and offers to open it. `rig`: null takes the first one of the file. */
export async function writeReport({ platform, log }: ReportNeeds, uri: Uri, rig: string | null): Promise<void> {
  const { commandLine } = platform;
  if (!commandLine) return warn(l10n.t('The command line writes the report, and it does not run in a browser.'));
  if (uri.scheme !== 'file')
    return warn(l10n.t('A report is made of a file on this machine: save the rig as one first.'));
  const name = `${rig ?? nameOf(uri).replace(/\.rig$/, '')}-report.html`;
  const target = await window.showSaveDialog({
    defaultUri: Uri.joinPath(uri, '..', name),
    filters: { [l10n.t('Web page')]: ['html', 'htm'] },
    title: l10n.t('Write the Report'),
  });
  if (!target) return;
  if (target.scheme !== 'file') return warn(l10n.t('A report is written to this machine only.'));
  if (!(await isSaved(uri))) return warn(l10n.t('{0} could not be saved; no report was written.', nameOf(uri)));
  const words = ['report', uri.fsPath, '--out', target.fsPath, ...rigWords(rig), ...constantWords(uri)];
  const done = await runWithProgress(words, (signal) => commandLine.run(words, Uri.joinPath(uri, '..').fsPath, signal));
  if (done === null) return;
  if (done.code !== 0) {
    log.warn(`report: ${done.error.trim()}`);
    return void window.showErrorMessage(firstLine(done.error));
  }
  const open = l10n.t('Open');
  const answer = await window.showInformationMessage(l10n.t('Wrote {0}.', nameOf(target)), open);
  if (answer === open) await env.openExternal(target);
}

const warn = (message: string): void => void window.showWarningMessage(message);
const nameOf = (uri: Uri): string => uri.path.split('/').pop() ?? '';
const rigWords = (rig: string | null): string[] => (rig === null ? [] : ['--rig', rig]);

/** What the settings put in place of constants of the text, as the checks and the preview read it. */
function constantWords(uri: Uri): string[] {
  const given = workspace.getConfiguration(SETTINGS_SECTION, uri).get<Record<string, unknown>>('constants') ?? {};
  const texts = Object.entries(given).filter(([, value]) => typeof value === 'string');
  return texts.flatMap(([constant, value]) => ['--let', `${constant}=${String(value)}`]);
}

/** What is reported is the file: the text of the editor goes there first. False where it does not get there. */
async function isSaved(uri: Uri): Promise<boolean> {
  const open = workspace.textDocuments.find((document) => document.uri.toString() === uri.toString());
  return open?.isDirty ? open.save() : true;
}

/** How it ended; null where the user gave it up. */
async function runWithProgress(
  words: readonly string[],
  run: (signal: AbortSignal) => Promise<CommandLineRun>,
): Promise<CommandLineRun | null> {
  const title = l10n.t('Writing the report of {0}', words[1]!.split(/[/\\]/).pop() ?? '');
  const options = { location: ProgressLocation.Notification, title, cancellable: true };
  return window.withProgress(options, async (_, token) => {
    const given = new AbortController();
    token.onCancellationRequested(() => given.abort());
    try {
      return await run(given.signal);
    } catch (error) {
      return given.signal.aborted ? null : { code: 1, error: reasonOf(error) };
    }
  });
}

/** What a person reads of what went wrong. */
function firstLine(error: string): string {
  return error.trim().split('\n')[0] || l10n.t('The report could not be written.');
}
