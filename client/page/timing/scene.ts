/** What the parts of the timing panel share: its elements, the layout drawn last, the shown range; and finding elements by ids. */
import { becauseText, edgeIndex } from '../../../server/core/diagram/timing/causes';
import type { TimingLayout } from '../../../server/core/diagram/timing/layout';
import type { TimingEdge, TimingModel } from '../../../server/core/diagram/timing/model';
import { safeRange } from '../../../server/core/diagram/timing/svg';
import { momentText, timeText } from '../../../server/core/diagram/kit/time-text';
import type { Source } from '../../../server/protocol/preview';
import type { App } from '../app';
import { hit } from '../dom';
import { bringIn, shifted, within, zoomed, type Range } from '../range';
import type { Hand } from './hand';

export interface TimingScene {
  readonly app: App;
  /** The edge that is moved. */
  readonly hand: Hand;
  readonly scroller: HTMLElement;
  readonly ruler: SVGSVGElement;
  readonly body: SVGSVGElement;
  readonly tip: HTMLElement;
  /** Of the last drawing; null before the first. */
  layout: TimingLayout | null;
  /** Change that gets the keyboard focus with the next drawing. */
  wanted: string | null;
}

/** At 100 % one second is this wide. */
const PX_PER_SECOND = 100;

// ---------------------------------------------------------------- time

/** Shown range: what the user chose, else what fits the stroke. */
export function rangeOf(app: App, model: TimingModel): Range {
  const { from, to } = app.session.view;
  return safeRange(from !== undefined && to !== undefined ? { from, to } : model.home);
}

/** Sets the shown range, from the model and the range now. */
export function changeRange({ app }: TimingScene, next: (now: Range, model: TimingModel) => Range): void {
  const model = app.timing();
  if (model) app.view(within(next(rangeOf(app, model), model), { from: model.start, to: model.end }));
}

/** Zooms with `at` staying in place: by default the time cursor where it is in sight, else the middle. */
export function zoom(scene: TimingScene, factor: number, at?: number): void {
  changeRange(scene, (now) => {
    const centre = at ?? scene.app.session.view.time ?? now.from - 1;
    return zoomed(now, factor, centre >= now.from && centre <= now.to ? centre : (now.from + now.to) / 2);
  });
}

/** Moves the range by px of the drawing, later times for positive ones. */
export function pan(scene: TimingScene, px: number): void {
  const { layout } = scene;
  if (layout) changeRange(scene, (now) => shifted(now, (px * (now.to - now.from)) / (layout.x1 - layout.x0)));
}

export function fit({ app }: TimingScene): void {
  app.view({ from: undefined, to: undefined });
}

/** The whole record. */
export function fitAll(scene: TimingScene): void {
  changeRange(scene, (_, model) => {
    const margin = Math.max(1, Math.round((model.end - model.start) * 0.02));
    return { from: model.start - margin, to: model.end + margin };
  });
}

export function actualSize(scene: TimingScene): void {
  const { layout } = scene;
  if (!layout) return;
  const span = ((layout.x1 - layout.x0) / PX_PER_SECOND) * 1_000_000;
  changeRange(scene, (now) => ({ from: now.from, to: now.from + span }));
}

/** Time cursor to `t`, the range moved only if it is not well in sight. */
export function placeCursor({ app }: TimingScene, t: number): void {
  const model = app.timing();
  if (!model) return;
  const range = within(bringIn(rangeOf(app, model), t), { from: model.start, to: model.end });
  const moved = range.from !== rangeOf(app, model).from;
  app.view({ time: t, ...(moved ? range : {}) });
}

// ---------------------------------------------------------------- what is where

export function edgeById({ app }: TimingScene, id: string | null): TimingEdge | undefined {
  return id === null ? undefined : edgeIndex(app.timing()?.lanes ?? []).get(id);
}

/** Id of the change that the keyboard is at, or about to be at. */
export function focusedId(scene: TimingScene): string | null {
  return scene.wanted ?? document.activeElement?.getAttribute('data-edge') ?? null;
}

export interface Pointed {
  /** What to say of it; empty for a lane. */
  readonly words: string;
  readonly source: Source | null;
  readonly edge: TimingEdge | null;
  readonly lane: string | null;
}

/** What an event is at: a change, a mark, a whole path, or a lane. */
export function pointed(scene: TimingScene, event: Event): Pointed | null {
  const model = scene.app.timing();
  if (!model) return null;
  const edge = edgeById(scene, hit(event, 'data-edge')?.value ?? null);
  if (edge) return { words: edgeWords(model, edge), source: edge.source, edge, lane: edge.lane };
  const markId = hit(event, 'data-mark')?.value;
  const mark = model.marks.find((m) => m.id === markId);
  if (mark) return { words: mark.text, source: mark.source, edge: null, lane: null };
  const bandId = hit(event, 'data-band')?.value;
  const band = model.bands.find((b) => b.id === bandId);
  if (band) return { words: band.label, source: band.source, edge: null, lane: null };
  const laneId = hit(event, 'data-lane')?.value;
  const lane = model.lanes.find((l) => l.id === laneId);
  return lane ? { words: '', source: lane.source, edge: null, lane: lane.id } : null;
}

function edgeWords(model: TimingModel, edge: TimingEdge): string {
  const ranged = edge.min !== null && edge.max !== null && edge.min !== edge.max;
  const range = ranged ? ` (${timeText(edge.min!)} … ${timeText(edge.max!)})` : '';
  return `${momentText(edge.t, model)}${range}: ${becauseText(model.lanes, edge.id)}`;
}
