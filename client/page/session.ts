/** Everything that pictures are drawn from, as one value, and how messages of the host change it. Pure. */
import { say } from '../../server/core/words/say';
import type { ExampleSteps } from '../../server/core/diagram/preview-model';
import type { MeasuredEdge } from '../../server/core/diagram/timing/layout';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import type { ByHandAnswer, ChangeData, ChoiceData, DifferenceData, StopData } from '../../server/protocol/by-hand';
import type { Contents } from '../../server/core/diagram/section/model';
import type { SectionFlow } from '../../server/core/diagram/section/stroke-flows';
import { contentsOfRun } from '../../server/core/diagram/store/cursor';
import type { StoreModel } from '../../server/core/diagram/store/model';
import type { PlotModel } from '../../server/core/diagram/store/plot-model';
import { lastAt } from '../../server/core/model/motion';
import type { HostMessage, PanelTab, PreviewModel, PreviewSettings, ViewState } from '../../server/protocol/preview';
import type { Explained, ReadingsData } from '../../server/protocol/readings';
import type { SuggestionData } from '../../server/protocol/suggestion';

export type ModelMessage = Extract<HostMessage, { type: 'model' }>;
export type StaleMessage = Extract<HostMessage, { type: 'stale' }>;
export type CursorMessage = Extract<HostMessage, { type: 'cursor' }>;
export type Worst = Extract<ByHandAnswer, { kind: 'worst' }>;
export type Moved = Extract<ByHandAnswer, { kind: 'moved' }>;

/** An edge of the timing diagram in the hand. */
export interface HandState {
  readonly rig: string;
  readonly picture: string;
  readonly edge: string;
  /** `upper closes` */
  readonly name: string;
  /** Where it stood. */
  readonly from: number;
  readonly by: 'pointer' | 'keys';
  /** Values that move it; null while they are asked for. */
  readonly choices: readonly ChoiceData[] | null;
  readonly choice: number;
  readonly stops: readonly StopData[];
  /** The rig states tolerances. */
  readonly isLoose: boolean;
  /** The requirements within tolerance at `moved`; null until they are known. */
  readonly worst: Worst | null;
  /** Where the hand is. */
  readonly wanted: number;
  /** What came of it last. */
  readonly moved: Moved | null;
  /** Let go before it was known what moves it. */
  readonly letGo: boolean;
  /** Let go: the text is being written. */
  readonly writing: boolean;
}

/** Constants with other values over the whole preview, until written or forgotten. */
export interface WhatIf {
  readonly rig: string;
  readonly values: Readonly<Record<string, number>>;
  readonly model: PreviewModel;
  readonly changes: readonly ChangeData[];
  readonly differences: readonly DifferenceData[];
}

/** A second variant laid over the drawing. */
export interface OverlayState {
  readonly uri: string;
  readonly label: string;
  readonly rigs: readonly PreviewModel[];
  /** What differs from it, by rig shown. */
  readonly differences: Readonly<Record<string, readonly DifferenceData[]>>;
}

/** Replaced, never changed in place. */
export interface Session {
  readonly model: ModelMessage | null;
  /** The text is broken: what to say; null where it is sound. */
  readonly stale: StaleMessage | null;
  readonly overlay: OverlayState | null;
  readonly settings: PreviewSettings;
  readonly locked: boolean;
  readonly view: ViewState;
  /** Id of the lit edge; of this visit only. */
  readonly litEdge: string | null;
  readonly playing: boolean;
  readonly hand: HandState | null;
  readonly whatIf: WhatIf | null;
  /** What the tuner suggests for this text. */
  readonly suggestion: SuggestionData | null;
  /** Readings of the built rig; those of the text before stay until they were compared again. */
  readonly readings: ReadingsState | null;
}

export interface ReadingsState {
  readonly file: string;
  readonly version: number;
  readonly data: ReadingsData;
  readonly explained: Explained | null;
}

const SETTINGS: PreviewSettings = { look: 'auto', exportLook: 'light', follow: 'cursor' };

export function firstSession(locked: boolean): Session {
  return {
    model: null,
    stale: null,
    overlay: null,
    settings: SETTINGS,
    locked,
    view: {},
    litEdge: null,
    playing: false,
    hand: null,
    whatIf: null,
    suggestion: null,
    readings: null,
  };
}

/** The session with a drawing that came; null where it is older than what is shown. `known` is the kept view of its file. */
export function withModel(session: Session, message: ModelMessage, known: ViewState): Session | null {
  const before = session.model;
  const same = before?.uri === message.uri;
  if (before && same && message.version < before.version) return null;
  const view = same ? session.view : known;
  // What is in the hand, or tried, belongs to the text it was taken from.
  const untouched = same && before?.version === message.version;
  return {
    ...session,
    model: message,
    settings: message.settings,
    locked: message.locked,
    stale: null,
    view: same && shownRigIsGone(before, message, view) ? withoutPlace(view) : view,
    overlay: same ? session.overlay : null,
    litEdge: same ? session.litEdge : null,
    playing: same && session.playing,
    hand: untouched ? session.hand : null,
    whatIf: untouched ? session.whatIf : null,
    suggestion: untouched ? session.suggestion : null,
    readings: same ? session.readings : null,
  };
}

/** The rig that was shown is no longer in the file. */
function shownRigIsGone(before: ModelMessage | null, now: ModelMessage, view: ViewState): boolean {
  const shown = before?.rigs.find((r) => r.id === view.rig) ?? before?.rigs[0];
  return shown !== undefined && now.rigs.length > 0 && !now.rigs.some((r) => r.id === shown.id);
}

/** A view without what belongs to one rig only. */
function withoutPlace(view: ViewState): ViewState {
  const {
    rig: _rig,
    trigger: _trigger,
    from: _from,
    to: _to,
    time: _time,
    mark: _mark,
    zero: _zero,
    lane: _lane,
    ...rest
  } = view;
  return rest;
}

/** The session with one picture of a rig shown from its beginning; null where there is none. */
export function withPicture(session: Session, rig: string, picture: string): Session | null {
  const trigger = session.model?.rigs.find((r) => r.id === rig)?.timing.findIndex((t) => t.id === picture) ?? -1;
  if (trigger < 0) return null;
  const { from: _from, to: _to, time: _time, mark: _mark, zero: _zero, lane: _lane, ...kept } = session.view;
  return { ...session, view: { ...kept, rig, trigger, tab: 'timing' }, playing: false, hand: null, whatIf: null };
}

type ReadingsMessage = Extract<HostMessage, { type: 'readings' }>;

/** The session with readings laid over the pictures; those that are new show the picture that they are of. Null where they are of another file. */
export function withReadings(session: Session, message: ReadingsMessage): Session | null {
  const { uri, version, file, readings, explained } = message;
  if (uri !== session.model?.uri) return null;
  if (readings === null) return { ...session, readings };
  const before = session.readings?.file === file ? session.readings : null;
  const next = { ...session, readings: { file, version, data: readings, explained } };
  if (before?.data.picture === readings.picture) return next;
  const there = writtenRig(session)?.id === readings.rig ? session.view : withoutPlace(session.view);
  const placed = { ...next, view: { ...there, rig: readings.rig } };
  const index = timingsOf(placed).findIndex((t) => t.id === readings.picture);
  return index < 0 ? placed : { ...placed, view: { ...placed.view, trigger: index, from: undefined, to: undefined } };
}

type SuggestionMessage = Extract<HostMessage, { type: 'suggestion' }>;

/** The session with a suggestion laid over the rig it is for; null where it is for another text. */
export function withSuggestion(session: Session, { uri, version, suggestion }: SuggestionMessage): Session | null {
  if (uri !== session.model?.uri || (suggestion !== null && version !== session.model.version)) return null;
  if (suggestion === null) return { ...session, suggestion };
  const shown = { ...session, suggestion, hand: null, whatIf: null, playing: false };
  if (shownRig(session)?.id === suggestion.rig) return shown;
  return { ...shown, view: { ...withoutPlace(session.view), rig: suggestion.rig } };
}

/** The session with a broken text; null where the message is about another text than the one shown. */
export function withStale(session: Session, message: StaleMessage): Session | null {
  const { model } = session;
  if (model && (model.uri !== message.uri || message.version < model.version)) return null;
  return { ...session, stale: message, playing: false, hand: null, whatIf: null, suggestion: null };
}

// ---------------------------------------------------------------- what is shown

/** The rig as the text has it. */
export function writtenRig({ model, view }: Session): PreviewModel | null {
  const rigs = model?.rigs ?? [];
  return rigs.find((r) => r.id === view.rig) ?? rigs[0] ?? null;
}

/** The rig that is shown: as tried where constants are tried. */
export function shownRig(session: Session): PreviewModel | null {
  const written = writtenRig(session);
  return session.whatIf && session.whatIf.rig === written?.id ? session.whatIf.model : written;
}

/** The pictures of the rig that is shown; the one of the readings, where it is none of the rig's own, stands last. */
export function timingsOf(session: Session): readonly TimingModel[] {
  const rig = shownRig(session);
  const logged = session.readings?.data.rig === rig?.id ? session.readings?.data.timing : null;
  return [...(rig?.timing ?? []), ...(logged ? [logged] : [])];
}

/** The runs of the curves; what the readings were held against stands last. */
export function storesOf(session: Session): readonly StoreModel[] {
  const rig = shownRig(session);
  const expected = session.readings?.data.rig === rig?.id ? session.readings?.data.expected : null;
  return [...(rig?.stores ?? []), ...(expected ? [expected] : [])];
}

/** Edges measured in the picture that is shown. */
export function shownReadings(session: Session): readonly MeasuredEdge[] {
  const data = session.readings?.data;
  return data && !session.hand && data.picture === shownTiming(session)?.id ? data.edges : [];
}

export function triggerIndex(session: Session): number {
  const count = timingsOf(session).length || 1;
  return Math.min(session.view.trigger ?? 0, Math.max(0, count - 1));
}

/** The timing that is shown: as held where an edge is in the hand. */
export function shownTiming(session: Session): TimingModel | null {
  const found = timingsOf(session)[triggerIndex(session)] ?? null;
  return session.hand?.moved && session.hand.picture === found?.id ? session.hand.moved.timing : found;
}

/** What is drawn under it as dashes: the text as written while something is held or tried, else the second variant. */
export function secondTiming(session: Session): TimingModel | null {
  const index = triggerIndex(session);
  if (session.hand?.moved) return shownRig(session)?.timing[index] ?? null;
  if (session.whatIf) return writtenRig(session)?.timing[index] ?? null;
  const rig = shownRig(session);
  if (session.suggestion?.model && session.suggestion.rig === rig?.id)
    return session.suggestion.model.timing[index] ?? null;
  const other = session.overlay?.rigs.find((r) => r.id === rig?.id) ?? session.overlay?.rigs[0];
  return other?.timing[index] ?? other?.timing[0] ?? null;
}

/** The plot that is shown instead of the curves of a run: they are chosen after the runs. Null where a run is. */
export function shownPlot(session: Session): PlotModel | null {
  const run = session.view.run ?? 0;
  return shownRig(session)?.plots?.[run - storesOf(session).length] ?? null;
}

/** The run whose curves are shown; null where none is computed. */
export function shownStore(session: Session): StoreModel | null {
  const stores = storesOf(session);
  return stores[Math.min(session.view.run ?? 0, stores.length - 1)] ?? null;
}

/** Whether something is shown that the contents are followed for: curves, a moment of them, or a scenario. */
export const wantsRuns = (session: Session): boolean =>
  ['store', 'section'].includes(shownTab(session)) ||
  session.view.zero !== undefined ||
  shownTiming(session)?.scenario !== undefined;

/** Whether the curves are of the run that the timing diagram draws: then both count from the same moment. */
const isOneRun = (session: Session): boolean => shownStore(session)?.id === shownTiming(session)?.id;

/** The moment of the run of the curves from which the cursors count. */
export function storeZero(session: Session): number {
  return isOneRun(session) ? 0 : (session.view.zero ?? 0);
}

/**
 * The view with a cursor brought to moment `t` of the run of the curves. Where the timing diagram draws one stroke and not the run,
 * the time cursor counts from the last stroke that began by then, so that diagram and section show the same moment of that stroke.
 */
export function withStoreCursor(session: Session, which: 'time' | 'mark', t: number): Partial<ViewState> {
  const zero = storeZero(session);
  if (which === 'mark' || isOneRun(session)) return { [which]: t - zero };
  const strokes = shownStore(session)?.strokes ?? [];
  const begun = strokes[lastAt(strokes, t)]?.t ?? 0;
  const { mark } = session.view;
  return { time: t - begun, zero: begun, ...(mark === undefined ? {} : { mark: mark + zero - begun }) };
}

/** What chambers hold while the timing that is shown goes on: of the run of the curves, where the cursor was put into one. */
export function shownContents(session: Session): readonly Contents[] {
  if (session.hand) return [];
  const store = shownStore(session);
  if (store && (isOneRun(session) || session.view.zero !== undefined)) return contentsOfRun(store, storeZero(session));
  return shownRig(session)?.contents[triggerIndex(session)] ?? [];
}

/** What flows at the time cursor: of the stroke that the timing diagram draws, unless the cursor stands in another run. */
export function shownFlow(session: Session): SectionFlow | null {
  if (session.hand || session.view.zero !== undefined) return null;
  return shownRig(session)?.flows[triggerIndex(session)] ?? null;
}

/** The counter-example whose picture is shown; null where another picture is. */
export function shownExample(session: Session): ExampleSteps | null {
  const picture = shownTiming(session)?.id;
  return shownRig(session)?.proof?.examples.find((e) => e.picture === picture) ?? null;
}

export interface Comparison {
  /** What the drawing is compared with: `the text`, `last saved version`. */
  readonly with: string;
  readonly rows: readonly DifferenceData[];
}

/** What differs from what is drawn dashed; null where nothing is compared. */
export function comparison(session: Session): Comparison | null {
  if (session.hand?.moved) return { with: say`the text`, rows: session.hand.moved.differences };
  if (session.whatIf) return { with: say`the text`, rows: session.whatIf.differences };
  // The strip of the suggestion has its own numbers, and the dashes are its.
  if (session.suggestion?.model) return null;
  const rig = shownRig(session);
  if (!session.overlay || !rig) return null;
  return { with: session.overlay.label, rows: session.overlay.differences[rig.id] ?? [] };
}

export function shownTab(session: Session): PanelTab {
  return session.view.tab ?? 'timing';
}
