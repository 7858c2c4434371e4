/**
 * One preview: a page, the document it shows, and what it keeps of it. Draws at once after each change and once more for what came
 * meanwhile; keeps the last sound drawing while the text is broken.
 */
import { env, l10n, window, type ExtensionContext, type LogOutputChannel, type Uri } from 'vscode';
import type { TextDocument, TextEditorSelectionChangeEvent, ViewColumn, WebviewPanel } from 'vscode';
import type { PageCommand, PageMessage, PreviewAnswer } from '../../../server/protocol/preview';
import type { TuneResult } from '../../../server/protocol/suggestion';
import { coalesce } from '../coalesce';
import { reasonOf } from '../lifecycle';
import type { Server } from '../server';
import { answerByHand, write } from './by-hand';
import { previewOf } from './answer';
import { messagesFor, type Drawing } from './drawing';
import { exportPicture } from './export';
import { createOverlay, type Overlay, type OverlayAction } from './overlay';
import { namesFile } from './page-messages';
import { adoptPanel, type PagePanel } from './panel';
import { createReadings, type Readings, type ReadingsAction } from './readings';
import type { Revealer } from './reveal';
import { pageSettings, redrawsOnType } from './settings';

export interface PreviewView {
  /** Document shown; null before the first. */
  readonly shown: Uri | null;
  readonly locked: boolean;
  /** Column of the editor that it stands in. */
  readonly column: ViewColumn | undefined;
  /** Shows a document; `rig` selects a rig of the file. */
  show(uri: Uri, rig?: string): void;
  /** Shows one picture of a rig of its document, with the next drawing. */
  showPicture(rig: string, picture: string): void;
  reveal(preserveFocus: boolean): void;
  setLocked(locked: boolean): void;
  refresh(): void;
  showSource(): Promise<void>;
  run(command: PageCommand): void;
  overlay(action: OverlayAction): Promise<void>;
  readings(action: ReadingsAction): Promise<void>;
  /** Shows a suggestion over the drawing; its edits are written when the page asks for it. */
  suggest(found: Suggested): void;
  /** What happens around it. */
  changed(uri: string): void;
  saved(document: TextDocument): void;
  cursorMoved(event: TextEditorSelectionChangeEvent): void;
  settingsChanged(): void;
}

export interface ViewNeeds {
  readonly context: ExtensionContext;
  readonly server: Server;
  readonly log: LogOutputChannel;
  readonly revealer: Revealer;
}

/** What a preview tells whoever keeps it. */
export interface ViewEvents {
  readonly closed: () => void;
  readonly active: () => void;
  readonly unlocked: () => void;
}

/** A suggestion with what would write it. */
export type Suggested = Extract<TuneResult, { kind: 'suggested' }>;

/** What one preview keeps between messages. */
interface Kept {
  shown: Uri | null;
  locked: boolean;
  lastGood: Drawing | null;
  lastBanner: PreviewAnswer['banner'];
  wantedRig: string | null;
  wantedPicture: { readonly rig: string; readonly picture: string } | null;
  wantsStores: boolean;
  suggested: Suggested | null;
  open: boolean;
}

const CAUTION_KEY = 'caisson.cautionShown';

/** The pieces of one preview, for the functions below. */
interface Parts extends ViewNeeds {
  readonly kept: Kept;
  readonly page: PagePanel;
  readonly overlay: Overlay;
  readonly readings: Readings;
  readonly events: ViewEvents;
  readonly draw: () => void;
  readonly cautionDue: boolean;
  readonly fault: (error: unknown) => void;
  readonly dropped: () => void;
}

export function createPreviewView(
  needs: ViewNeeds,
  panel: WebviewPanel,
  locked: boolean,
  events: ViewEvents,
): PreviewView {
  const { context, server, log } = needs;
  const kept: Kept = {
    shown: null,
    locked,
    lastGood: null,
    lastBanner: null,
    wantedRig: null,
    wantedPicture: null,
    wantsStores: false,
    suggested: null,
    open: true,
  };
  const fault = (error: unknown): void => log.warn(`preview: ${reasonOf(error)}`);
  const dropped = (): void => log.warn('preview page: a message that the page may not send was dropped');

  const draw = coalesce(async () => {
    const uri = kept.shown;
    if (uri === null || !kept.open) return;
    const answer = await previewOf(uri, server, kept.wantsStores);
    if (!kept.open || kept.shown !== uri || answer === null) return;
    post(parts, uri, answer);
    await overlay.refresh(uri, 'drawn');
    await readings.refresh(uri);
  }, fault);

  const page: PagePanel = adoptPanel(panel, context.extensionUri, env.language, {
    ready: () => draw(),
    message: (message) => {
      handle(parts, message).catch((error) => {
        fault(error);
        void window.showErrorMessage(`Caisson: ${reasonOf(error)}`);
      });
    },
    dropped,
    active: events.active,
    closed: () => {
      kept.open = false;
      overlay.drop();
      readings.drop();
      events.closed();
    },
  });
  const overlay = createOverlay(server, (message) => page.post(message));
  const readings = createReadings(server, (message) => page.post(message));
  const cautionDue = !context.workspaceState.get(CAUTION_KEY, false);
  const parts: Parts = { ...needs, kept, page, overlay, readings, events, draw, cautionDue, fault, dropped };
  return viewOf(parts);
}

/** Sends an answer of the server to the page, with what the page was asked to select. */
function post(parts: Parts, uri: Uri, answer: PreviewAnswer): void {
  const { kept, page, context, cautionDue } = parts;
  const input = {
    uri: uri.toString(),
    file: nameOf(uri),
    answer,
    lastGood: kept.lastGood,
    settings: pageSettings(uri),
    locked: kept.locked,
    cautionDue,
  };
  const result = messagesFor(input);
  kept.lastGood = result.lastGood;
  kept.lastBanner = answer.banner;
  result.messages.forEach((message) => page.post(message));
  if (cautionDue && answer.rigs?.some((rig) => rig.caution !== null))
    void context.workspaceState.update(CAUTION_KEY, true);
  selectWantedRig(kept, page, uri);
  postSuggestion(parts, uri, answer.version);
  if (kept.wantedPicture) page.post({ type: 'picture', uri: uri.toString(), ...kept.wantedPicture });
  kept.wantedPicture = null;
}

function selectWantedRig(kept: Kept, page: PagePanel, uri: Uri): void {
  const rig = kept.lastGood?.rigs.find((r) => r.id === kept.wantedRig);
  kept.wantedRig = null;
  if (!rig) return;
  page.post({ type: 'cursor', uri: uri.toString(), start: rig.source.start, end: rig.source.start, by: 'command' });
}

function setLocked({ kept, page, events }: Parts, now: boolean): void {
  kept.locked = now;
  if (kept.shown) page.setTitle(titleOf(kept.shown, now));
  page.post({ type: 'locked', locked: now });
  if (!now) events.unlocked();
}

/** Places of the file that is shown, and of those that its drawing, its banner or the variant laid over it names. */
function mayShow({ kept, overlay }: Parts, uri: string): boolean {
  return kept.shown?.toString() === uri || overlay.isOf(uri) || namesFile([kept.lastGood, kept.lastBanner], uri);
}

async function showSource({ kept, revealer, page }: Parts): Promise<void> {
  if (kept.shown) await revealer.showSource(kept.shown, page.column);
}

async function changeOverlay({ kept, overlay }: Parts, action: OverlayAction): Promise<void> {
  if (kept.shown) await overlay.change(action, kept.shown);
}

async function changeReadings({ kept, readings }: Parts, action: ReadingsAction): Promise<void> {
  if (kept.shown) await readings.change(action, kept.shown);
}

/** Writes the suggestion that is shown, as one edit, or forgets it. */
async function takeSuggestion({ kept, page }: Parts, action: 'write' | 'leave'): Promise<void> {
  const { shown, suggested } = kept;
  kept.suggested = null;
  if (!shown || !suggested) return;
  const [uri, { version }] = [shown.toString(), suggested];
  page.post({ type: 'suggestion', uri, version, suggestion: null });
  if (action === 'write' && !(await write(shown, version, suggested.edits)))
    void window.showWarningMessage(
      l10n.t('The text has changed since the values were suggested; nothing was written. Tune again.'),
    );
}

/** A suggestion belongs to its version of the text: it is sent with the drawing of that version. */
function postSuggestion({ kept, page }: Parts, uri: Uri, version: number): void {
  if (kept.suggested?.version !== version) return;
  page.post({ type: 'suggestion', uri: uri.toString(), version, suggestion: kept.suggested.suggestion });
}

/** Does what the page asks for. */
async function handle(parts: Parts, message: PageMessage): Promise<void> {
  const { kept, page, server, log, revealer, draw, dropped } = parts;
  switch (message.type) {
    case 'reveal':
      return mayShow(parts, message.uri) ? revealer.reveal(message, page.column) : dropped();
    case 'export':
      return kept.shown === null ? undefined : exportPicture(message, kept.shown);
    case 'copy':
      await env.clipboard.writeText(message.text);
      return void window.setStatusBarMessage(l10n.t('Copied.'), 3_000);
    case 'copied':
      return void window.setStatusBarMessage(l10n.t('Picture copied.'), 3_000);
    case 'lock':
      return setLocked(parts, message.locked);
    case 'showSource':
      return showSource(parts);
    case 'readings':
      return changeReadings(parts, message.action);
    case 'suggestion':
      return takeSuggestion(parts, message.action);
    case 'overlay':
      return changeOverlay(parts, message.action);
    case 'want':
      kept.wantsStores = message.stores;
      return kept.wantsStores ? draw() : undefined;
    case 'byHand':
      if (kept.shown) page.post(await answerByHand(server, kept.shown, message));
      return;
    case 'fault':
      return log.error(`preview page: ${message.message}`);
    case 'ready':
    case 'state':
      return;
  }
}

/** A preview as whoever keeps it sees it. */
function viewOf(parts: Parts): PreviewView {
  const { kept, page, overlay, draw, fault } = parts;
  const isShown = (uri: string): boolean => kept.shown?.toString() === uri;
  return {
    get shown() {
      return kept.shown;
    },
    get locked() {
      return kept.locked;
    },
    get column() {
      return page.column;
    },
    show(uri, rig) {
      if (rig !== undefined) kept.wantedRig = rig;
      if (!isShown(uri.toString())) {
        kept.shown = uri;
        kept.suggested = null;
        overlay.drop();
        parts.readings.drop();
        page.setTitle(titleOf(uri, kept.locked));
      }
      draw();
    },
    showPicture(rig, picture) {
      kept.wantedPicture = { rig, picture };
      draw();
    },
    reveal: (preserveFocus) => page.reveal(undefined, preserveFocus),
    setLocked: (now) => setLocked(parts, now),
    refresh: () => draw(),
    showSource: () => showSource(parts),
    run: (command) => page.post({ type: 'command', command }),
    overlay: (action) => changeOverlay(parts, action),
    readings: (action) => changeReadings(parts, action),
    suggest(found) {
      kept.suggested = found;
      draw();
    },
    changed(uri) {
      const concerned = kept.shown !== null && (isShown(uri) || overlay.isOf(uri));
      if (concerned && redrawsOnType(kept.shown!)) draw();
    },
    saved(document) {
      if (kept.shown === null || !isShown(document.uri.toString())) return;
      if (!redrawsOnType(kept.shown)) draw();
      overlay.refresh(kept.shown, 'saved').catch(fault);
    },
    cursorMoved(event) {
      if (isShown(event.textEditor.document.uri.toString())) page.post(cursorMessage(event));
    },
    settingsChanged() {
      if (!kept.shown) return;
      page.post({ type: 'settings', settings: pageSettings(kept.shown) });
      draw();
    },
  };
}

function cursorMessage({ textEditor, kind }: TextEditorSelectionChangeEvent): Parameters<PagePanel['post']>[0] {
  const { document, selection } = textEditor;
  const by = ['keyboard', 'mouse', 'command'] as const;
  return {
    type: 'cursor',
    uri: document.uri.toString(),
    start: document.offsetAt(selection.start),
    end: document.offsetAt(selection.end),
    by: by[(kind ?? 3) - 1] ?? 'command',
  };
}

const nameOf = (uri: Uri): string => uri.path.split('/').pop() || l10n.t('untitled');

function titleOf(uri: Uri, locked: boolean): string {
  return locked ? l10n.t('[Preview] {0}', nameOf(uri)) : l10n.t('Preview {0}', nameOf(uri));
}
