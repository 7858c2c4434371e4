/** The commands of the extension, all in the category Caisson. */
import { commands, l10n, Uri, window, type Disposable, type LogOutputChannel } from 'vscode';
import type { BuildSheets } from './build-sheet';
import { checkAll } from './check-all';
import { SHOW_PICTURE_COMMAND } from '../../server/protocol/messages';
import { copyInformation } from './information';
import { newRig } from './new-rig';
import type { Platform } from './platform';
import type { PreviewHost } from './preview/host';
import type { Where } from './preview/open-views';
import { proveRig } from './prove';
import { writeReport } from './report';
import type { Server } from './server';
import { rigAtCursor } from './rig-at-cursor';
import { lastRig, showMistake } from './show-mistake';
import { tuneRig } from './tune';

export interface CommandContext {
  readonly server: Server;
  readonly preview: PreviewHost;
  readonly sheets: BuildSheets;
  readonly log: LogOutputChannel;
  readonly version: string;
  readonly platform: Platform;
}

export function registerCommands(context: CommandContext): Disposable[] {
  const { server, preview, log } = context;
  const check = checkAll(server);
  const handlers: Record<string, (...given: unknown[]) => unknown> = {
    'caisson.openPreview': (uri, rig) => open(preview, 'here', uri, rig),
    'caisson.openPreviewToSide': (uri, rig) => open(preview, 'beside', uri, rig),
    'caisson.openAnotherPreview': (uri, rig) => open(preview, 'another', uri, rig),
    [SHOW_PICTURE_COMMAND]: (uri, rig, picture) =>
      preview.showPicture(Uri.parse(String(uri)), String(rig), String(picture)),
    'caisson.togglePreviewLock': () => preview.toggleLock(),
    'caisson.showSource': () => preview.showSource(),
    'caisson.refreshPreview': () => preview.refresh(),
    'caisson.exportPicture': () => exportFrom(preview),
    'caisson.compareWithFile': () => preview.overlay('choose'),
    'caisson.compareWithSaved': () => preview.overlay('saved'),
    'caisson.stopComparing': () => preview.overlay('remove'),
    'caisson.compareWithReadings': () => preview.readings('choose', subject(undefined)),
    'caisson.diagnoseReadings': () => preview.readings('diagnose', subject(undefined)),
    'caisson.removeReadings': () => preview.readings('remove', null),
    'caisson.checkAll': () => check.run(),
    'caisson.proveRig': () => proveRig(server, log),
    'caisson.tune': (...given) => tuneRig(server, preview, given),
    'caisson.buildSheet': () => openSheet(context),
    'caisson.report': () => reportRig(context),
    'caisson.newRig': () => newRig(),
    'caisson.showMistake': () => showMistake(subject(undefined) ?? lastRig()),
    'caisson.restartServer': () => server.restart(),
    'caisson.showLog': () => log.show(),
    'caisson.copyInformation': () => copyInformation(context),
  };
  const registered = Object.entries(handlers).map(([id, handler]) => commands.registerCommand(id, handler));
  return [check, ...registered];
}

/** The document a command is about: the given one (explorer, lens), else that of the active editor. */
function subject(given: unknown): Uri | null {
  if (given instanceof Uri) return given;
  if (typeof given === 'string') return Uri.parse(given);
  const document = window.activeTextEditor?.document;
  return document?.languageId === 'rig' ? document.uri : null;
}

async function open(preview: PreviewHost, where: Where, given: unknown, rig: unknown): Promise<void> {
  const uri = subject(given) ?? lastRig();
  if (uri === null)
    return void window.showInformationMessage(
      l10n.t('Open a rig file first: the preview shows the rig of the active editor.'),
    );
  // A lens gives the address as text and stands in the source: the source stays in view.
  const place = typeof given === 'string' && where === 'here' ? 'beside' : where;
  await preview.open(uri, place, typeof rig === 'string' ? rig : undefined);
}

const openSheet = ({ server, sheets, preview }: CommandContext): Promise<void> =>
  withRig(server, preview, (uri, rig) => sheets.open(uri, rig));

const reportRig = (context: CommandContext): Promise<void> =>
  withRig(context.server, context.preview, (uri, rig) => writeReport(context, uri, rig));

/** The rig at the cursor, else the first one of the preview's document (null). */
async function withRig(
  server: Server,
  preview: PreviewHost,
  act: (uri: Uri, rig: string | null) => Promise<void>,
): Promise<void> {
  const editor = window.activeTextEditor;
  const uri = subject(undefined) ?? preview.shown ?? lastRig();
  if (uri === null) return void window.showInformationMessage(l10n.t('Open a rig file first.'));
  const here = editor?.document.uri.toString() === uri.toString();
  await act(uri, here ? await rigAtCursor(server, editor) : null);
}

async function exportFrom(preview: PreviewHost): Promise<void> {
  const format = await window.showQuickPick(
    [
      {
        label: 'SVG',
        description: l10n.t('scales without loss, for documents and the web'),
        command: 'exportSvg' as const,
      },
      { label: 'PNG', description: l10n.t('pixels, for slides and chat'), command: 'exportPng' as const },
    ],
    { placeHolder: l10n.t('Format of the picture') },
  );
  if (!format) return;
  const uri = subject(undefined);
  if (preview.shown === null && uri) await preview.open(uri, 'beside');
  if (preview.shown === null) return;
  preview.run(format.command);
}
