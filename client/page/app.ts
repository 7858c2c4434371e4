/** The page's state and how it changes: messages of the host in, messages to the host out, one drawing a frame. */
import type { Look } from '../../server/core/diagram/kit/palette';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import type {
  HostMessage,
  PageCommand,
  PageMessage,
  PanelTab,
  PreviewModel,
  PreviewSettings,
  SavedState,
  ViewState,
} from '../../server/protocol/preview';
import { lookFor } from './looks';
import { readSaved, withView } from './saved';

/** What the editor gives a page; `getState` may return anything. */
export interface EditorApi {
  postMessage(message: PageMessage): void;
  getState(): unknown;
  setState(state: SavedState): void;
}

type ModelMessage = Extract<HostMessage, { type: 'model' }>;
type StaleMessage = Extract<HostMessage, { type: 'stale' }>;
type CursorMessage = Extract<HostMessage, { type: 'cursor' }>;

/** Everything that pictures are drawn from. Replaced, never changed in place. */
export interface Session {
  readonly model: ModelMessage | null;
  /** The text is broken: what to say; null where it is sound. */
  readonly stale: StaleMessage | null;
  readonly overlay: { readonly uri: string; readonly label: string; readonly rigs: readonly PreviewModel[] } | null;
  readonly settings: PreviewSettings;
  readonly locked: boolean;
  readonly view: ViewState;
  /** Id of the lit edge; of this visit only. */
  readonly litEdge: string | null;
  readonly playing: boolean;
}

export interface App {
  readonly session: Session;
  /** The rig, and the timing model, that are shown; null where there is none. */
  rig(): PreviewModel | null;
  timing(): TimingModel | null;
  /** The same of the second variant. */
  second(): TimingModel | null;
  triggerIndex(): number;
  tab(): PanelTab;
  look(): Look;
  /** Changes the kept view. Undefined takes a value away. */
  view(change: Partial<ViewState>): void;
  set(change: Partial<Pick<Session, 'litEdge' | 'playing' | 'locked'>>): void;
  post(message: PageMessage): void;
  /** Says something once, for eyes and screen readers. */
  say(text: string): void;
  reveal(source: { uri: string; start: number; end: number } | null, focus: boolean): void;
  cautioned(): boolean;
  dismissCaution(): void;
}

export interface AppHooks {
  /** Draws everything; called at most once a frame. */
  draw(): void;
  say(text: string): void;
  command(command: PageCommand): void;
  /** The text cursor moved: light what stands there. */
  cursor(message: CursorMessage): void;
}

const SETTINGS: PreviewSettings = { look: 'auto', exportLook: 'light', follow: 'cursor' };

/** The rig that was shown is no longer in the file. */
function shownRigIsGone(before: ModelMessage | null, now: ModelMessage, view: ViewState): boolean {
  const shown = before?.rigs.find((r) => r.id === view.rig) ?? before?.rigs[0];
  return shown !== undefined && now.rigs.length > 0 && !now.rigs.some((r) => r.id === shown.id);
}

/** A view without what belongs to one rig only. */
function withoutPlace(view: ViewState): ViewState {
  const { rig: _rig, trigger: _trigger, from: _from, to: _to, time: _time, lane: _lane, ...rest } = view;
  return rest;
}

/** The app over an editor's interface. `hooks` are called later, never from inside. */
export function createApp(
  editor: EditorApi,
  hooks: AppHooks,
): App & { receive(message: HostMessage): void; start(): void } {
  const saved = readSaved(editor.getState());
  let views = saved?.views ?? {};
  let cautioned = saved?.cautioned ?? [];
  let session: Session = {
    model: null,
    stale: null,
    overlay: null,
    settings: SETTINGS,
    locked: saved?.locked ?? false,
    view: {},
    litEdge: null,
    playing: false,
  };
  let drawing = false;
  let keeping: ReturnType<typeof setTimeout> | null = null;

  function draw(): void {
    if (drawing) return;
    drawing = true;
    requestAnimationFrame(() => {
      drawing = false;
      hooks.draw();
    });
  }

  function keep(): void {
    if (keeping !== null) return;
    keeping = setTimeout(() => {
      keeping = null;
      keepNow();
    }, 150);
  }

  function keepNow(): void {
    if (!session.model) return;
    const { uri } = session.model;
    views = withView(views, uri, session.view);
    const state = { uri, locked: session.locked, views, cautioned };
    editor.setState(state);
    editor.postMessage({ type: 'state', state });
  }

  function change(next: Partial<Session>): void {
    session = { ...session, ...next };
    draw();
  }

  function receiveModel(message: ModelMessage): void {
    const before = session.model;
    if (before && before.uri === message.uri && message.version < before.version) return;
    const same = before?.uri === message.uri;
    if (before && !same) keepNow();
    const view = same ? session.view : (views[message.uri] ?? {});
    change({
      model: message,
      settings: message.settings,
      locked: message.locked,
      stale: null,
      view: same && shownRigIsGone(before, message, view) ? withoutPlace(view) : view,
      overlay: same ? session.overlay : null,
      litEdge: same ? session.litEdge : null,
      playing: same && session.playing,
    });
    if (!same) keepNow();
  }

  function receiveStale(message: StaleMessage): void {
    if (session.model && (session.model.uri !== message.uri || message.version < session.model.version)) return;
    change({ stale: message, playing: false });
  }

  function receive(message: HostMessage): void {
    switch (message.type) {
      case 'model':
        return receiveModel(message);
      case 'stale':
        return receiveStale(message);
      case 'overlay':
        return change({ overlay: message.rigs ? { ...message, rigs: message.rigs } : null });
      case 'settings':
        return change({ settings: message.settings });
      case 'locked':
        change({ locked: message.locked });
        return keep();
      case 'cursor':
        return message.uri === session.model?.uri ? hooks.cursor(message) : undefined;
      case 'command':
        return hooks.command(message.command);
    }
  }

  const app: App = {
    get session() {
      return session;
    },
    rig() {
      const rigs = session.model?.rigs ?? [];
      return rigs.find((r) => r.id === session.view.rig) ?? rigs[0] ?? null;
    },
    triggerIndex() {
      return Math.min(session.view.trigger ?? 0, Math.max(0, (app.rig()?.timing.length ?? 1) - 1));
    },
    timing: () => app.rig()?.timing[app.triggerIndex()] ?? null,
    second() {
      const rig = app.rig();
      const other = session.overlay?.rigs.find((r) => r.id === rig?.id) ?? session.overlay?.rigs[0];
      return other?.timing[app.triggerIndex()] ?? other?.timing[0] ?? null;
    },
    tab() {
      const tab = session.view.tab ?? 'timing';
      return tab === 'store' && !app.rig()?.hasStores ? 'timing' : tab;
    },
    look: () => lookFor(session.view.look ?? session.settings.look, document.body),
    view(next) {
      session = { ...session, view: { ...session.view, ...next } };
      keep();
      draw();
    },
    set(next) {
      change(next);
      if ('locked' in next) keep();
    },
    post: (message) => editor.postMessage(message),
    say: (text) => hooks.say(text),
    reveal(source, focus) {
      if (source) editor.postMessage({ type: 'reveal', uri: source.uri, start: source.start, end: source.end, focus });
    },
    cautioned: () => !!session.model && cautioned.includes(session.model.uri),
    dismissCaution() {
      if (session.model) cautioned = [...cautioned.slice(-99), session.model.uri];
      keep();
      draw();
    },
  };
  return Object.assign(app, {
    receive,
    start: () => editor.postMessage({ type: 'ready' as const, state: saved }),
  });
}
