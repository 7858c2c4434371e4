/** Checks every rig file of the open folders, also those that are not open, and lists what is found among the problems. */
import type { Uri } from 'vscode';
import {
  commands,
  l10n,
  languages,
  ProgressLocation,
  TabInputCustom,
  TabInputText,
  TabInputTextDiff,
  window,
  workspace,
  type Diagnostic,
  type Disposable,
  type Tab,
} from 'vscode';
import { listRigFiles } from './file-requests';
import type { Server } from './server';

interface FileReport {
  readonly uri: string;
  readonly kind: string;
  readonly items?: readonly unknown[];
}

export interface CheckAll extends Disposable {
  run(): Promise<void>;
}

export function checkAll(server: Server): CheckAll {
  const found = languages.createDiagnosticCollection('caisson-check');
  // A document that a tab shows has live problems; a changed or deleted file has none that still hold. One that was opened without a tab
  // (the test view does so) stays open for minutes, and nobody asks for its problems.
  const watcher = workspace.createFileSystemWatcher('**/*.rig');
  const forget = (uri: Uri): void => found.delete(uri);
  const subscriptions = [
    found,
    watcher,
    watcher.onDidChange(forget),
    watcher.onDidDelete(forget),
    window.tabGroups.onDidChangeTabs(({ opened }) => opened.forEach((tab) => shownIn(tab).forEach(forget))),
  ];
  return {
    run: async () => {
      const options = { location: ProgressLocation.Window, title: l10n.t('Checking rig files') };
      await window.withProgress(options, () => run(server, found));
    },
    dispose: () => subscriptions.forEach((s) => s.dispose()),
  };
}

type Collection = ReturnType<typeof languages.createDiagnosticCollection>;

async function run(server: Server, found: Collection): Promise<void> {
  const files = await listRigFiles();
  found.clear();
  let mistakes = 0;
  for (const uri of files) {
    const diagnostics = await diagnosticsOf(server, uri);
    mistakes += diagnostics.length;
    if (!isShown(uri)) found.set(uri, diagnostics);
  }
  const checked = files.length === 1 ? l10n.t('1 file') : l10n.t('{0} files', files.length);
  const findings = mistakes === 1 ? l10n.t('1 finding') : l10n.t('{0} findings', mistakes);
  window.setStatusBarMessage(`Caisson: ${checked}, ${findings}.`, 10_000);
  if (mistakes > 0) await commands.executeCommand('workbench.actions.view.problems');
}

/** The documents whose problems the editor keeps up to date because of a tab. */
function shownIn({ input }: Tab): readonly Uri[] {
  if (input instanceof TabInputTextDiff) return [input.modified];
  return input instanceof TabInputText || input instanceof TabInputCustom ? [input.uri] : [];
}

const isShown = (uri: Uri): boolean =>
  window.tabGroups.all.some(({ tabs }) =>
    tabs.some((tab) => shownIn(tab).some((shown) => shown.toString() === uri.toString())),
  );

async function diagnosticsOf(server: Server, uri: Uri): Promise<Diagnostic[]> {
  const report = await server.ask<FileReport>('textDocument/diagnostic', { textDocument: { uri: uri.toString() } });
  if (!report?.items || server.client === null) return [];
  return server.client.protocol2CodeConverter.asDiagnostics(report.items as never);
}
