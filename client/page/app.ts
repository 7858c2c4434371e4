/** The page's state and how it changes: messages of the host in, messages to the host out, one drawing a frame. */
import type { Look } from '../../server/core/diagram/kit/palette';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import type { ByHandAnswer, ByHandAsk } from '../../server/protocol/by-hand';
import type {
  HostMessage,
  PageCommand,
  PageMessage,
  PanelTab,
  PreviewModel,
  SavedState,
  ViewState,
} from '../../server/protocol/preview';
import { createAsking } from './asking';
import { lookFor } from './looks';
import { createMemory, type Memory } from './memory';
import { readSaved } from './saved';
import * as sessions from './session';
import type { CursorMessage, Session } from './session';

/** What the editor gives a page; `getState` may return anything. */
export interface EditorApi {
  postMessage(message: PageMessage): void;
  getState(): unknown;
  setState(state: SavedState): void;
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
  /** Shows one picture of the rig that is shown. */
  showPicture(id: string): void;
  /** Changes the kept view. Undefined takes a value away. */
  view(change: Partial<ViewState>): void;
  set(change: Partial<Pick<Session, 'litEdge' | 'playing' | 'locked' | 'hand' | 'whatIf' | 'suggestion'>>): void;
  /** Where the edge in the hand is wanted; nothing is drawn until what follows from it has come. */
  aim(wanted: number): void;
  post(message: PageMessage): void;
  /** Asks the server about values set by hand; null where the text has changed meanwhile. */
  ask(ask: ByHandAsk, rig: string): Promise<ByHandAnswer | null>;
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

/** What all parts of the app change. */
interface Core {
  session: Session;
  readonly memory: Memory;
  readonly draw: () => void;
  readonly asking: ReturnType<typeof createAsking>;
}

/** The app as the page's entry has it. */
export interface StartedApp extends App {
  /** A message of the host. */
  receive(message: HostMessage): void;
  /** Says that the page listens. */
  start(): void;
}

/** The app over an editor's interface. `hooks` are called later, never from inside. */
export function createApp(editor: EditorApi, hooks: AppHooks): StartedApp {
  const saved = readSaved(editor.getState());
  const core: Core = {
    session: sessions.firstSession(saved?.locked ?? false),
    memory: createMemory(editor, saved, () => core.session),
    draw: oncePerFrame(hooks.draw),
    asking: createAsking((message) => editor.postMessage(message)),
  };
  return Object.assign(actions(core, editor, hooks), {
    receive: (message: HostMessage) => receive(core, hooks, message),
    start: () => editor.postMessage({ type: 'ready' as const, state: saved }),
  });
}

function oncePerFrame(draw: () => void): () => void {
  let due = false;
  return () => {
    if (due) return;
    due = true;
    requestAnimationFrame(() => {
      due = false;
      draw();
    });
  };
}

function change(core: Core, next: Session | null): void {
  if (next === null) return;
  core.session = next;
  core.draw();
}

function receive(core: Core, hooks: AppHooks, message: HostMessage): void {
  const { session, memory } = core;
  switch (message.type) {
    case 'model': {
      const isOther = session.model?.uri !== message.uri;
      if (isOther) memory.keepNow();
      const edited = !isOther && session.model?.version !== message.version;
      change(core, sessions.withModel(session, message, memory.viewOf(message.uri)));
      if (isOther) memory.keepNow();
      // What was announced concerns the text before.
      if (isOther || (edited && !session.hand)) hooks.say('');
      return;
    }
    case 'stale':
      return change(core, sessions.withStale(session, message));
    case 'overlay':
      return change(core, { ...session, overlay: message.rigs ? { ...message, rigs: message.rigs } : null });
    case 'picture':
      if (message.uri !== session.model?.uri) return;
      change(core, sessions.withPicture(session, message.rig, message.picture));
      return memory.keep();
    case 'readings':
      return change(core, sessions.withReadings(session, message));
    case 'suggestion':
      return change(core, sessions.withSuggestion(session, message));
    case 'settings':
      return change(core, { ...session, settings: message.settings });
    case 'locked':
      change(core, { ...session, locked: message.locked });
      return memory.keep();
    case 'byHand':
      return core.asking.answered(message.id, message.answer);
    case 'cursor':
      return message.uri === session.model?.uri ? hooks.cursor(message) : undefined;
    case 'command':
      return hooks.command(message.command);
  }
}

function actions(core: Core, editor: EditorApi, hooks: AppHooks): App {
  return {
    get session() {
      return core.session;
    },
    rig: () => sessions.shownRig(core.session),
    triggerIndex: () => sessions.triggerIndex(core.session),
    timing: () => sessions.shownTiming(core.session),
    second: () => sessions.secondTiming(core.session),
    tab: () => sessions.shownTab(core.session),
    look: () => lookFor(core.session.view.look ?? core.session.settings.look, document.body),
    showPicture(id) {
      change(core, sessions.withPicture(core.session, sessions.writtenRig(core.session)?.id ?? '', id));
      core.memory.keep();
    },
    view(next) {
      change(core, { ...core.session, view: { ...core.session.view, ...next } });
      core.memory.keep();
    },
    set(next) {
      change(core, { ...core.session, ...next });
      if ('locked' in next) core.memory.keep();
    },
    aim(wanted) {
      const { hand } = core.session;
      if (hand) core.session = { ...core.session, hand: { ...hand, wanted } };
    },
    post: (message) => editor.postMessage(message),
    ask: (ask, rig) => core.asking.ask(ask, rig, core.session.model?.version ?? 0),
    say: (text) => hooks.say(text),
    reveal(source, focus) {
      if (source) editor.postMessage({ type: 'reveal', uri: source.uri, start: source.start, end: source.end, focus });
    },
    cautioned: () => core.memory.cautioned(),
    dismissCaution() {
      core.memory.dismissCaution();
      core.draw();
    },
  };
}
