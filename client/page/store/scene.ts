/** What the parts of the store panel share: its elements, what was drawn last, the shown range, the cursors and what they read. */
import { say } from '../../../server/core/words/say';
import { readingText, strokesAt } from '../../../server/core/diagram/store/cursor';
import type { StoreModel } from '../../../server/core/diagram/store/model';
import { storeRange, type StoreView } from '../../../server/core/diagram/store/svg';
import { FOLLOWED, momentText } from '../../../server/core/diagram/kit/time-text';
import { lastAt } from '../../../server/core/model/motion';
import type { App } from '../app';
import { bringIn, shifted, within, zoomed, type Range } from '../range';
import { storeZero, withStoreCursor, type Session } from '../session';

export interface StoreScene {
  readonly app: App;
  readonly scroller: HTMLElement;
  readonly svg: SVGSVGElement;
  readonly tip: HTMLElement;
  /** Of the last drawing; null where there are no curves. */
  model: StoreModel | null;
  view: StoreView | null;
}

// ---------------------------------------------------------------- range

export function rangeOf(app: App, model: StoreModel): Range {
  return app.session.view.store ?? storeRange(model);
}

function changeRange({ app, model }: StoreScene, next: (now: Range) => Range): void {
  if (model) app.view({ store: within(next(rangeOf(app, model)), storeRange(model)) });
}

export const fit = ({ app }: StoreScene): void => app.view({ store: undefined });

/** Zooms with `at` staying in place; by default the time cursor, where it is in sight. */
export function zoom(scene: StoreScene, factor: number, at?: number): void {
  const time = cursorOf(scene.app.session, 'time');
  changeRange(scene, (now) => {
    const seen = time !== null && time >= now.from && time <= now.to ? time : (now.from + now.to) / 2;
    return zoomed(now, factor, at ?? seen);
  });
}

export function pan(scene: StoreScene, part: number): void {
  changeRange(scene, (now) => shifted(now, part * (now.to - now.from)));
}

// ---------------------------------------------------------------- cursors

/** Where a cursor stands in the run; null where there is none. */
export function cursorOf(session: Session, which: 'time' | 'mark'): number | null {
  const t = session.view[which];
  return t === undefined ? null : t + storeZero(session);
}

export function placeCursor(scene: StoreScene, which: 'time' | 'mark', t: number): void {
  const { app, model } = scene;
  if (!model) return;
  const { from, to } = storeRange(model);
  app.set({ playing: false });
  app.view(withStoreCursor(app.session, which, Math.max(from, Math.min(to, t))));
}

/** The same, in sight and said. */
function goTo(scene: StoreScene, t: number): void {
  const { app, model } = scene;
  if (!model) return;
  placeCursor(scene, 'time', t);
  const range = rangeOf(app, model);
  if (t < range.from || t > range.to) app.view({ store: within(bringIn(range, t), storeRange(model)) });
  app.say(wordsAt(app.session, model, null));
}

export const momentsOf = (model: StoreModel): readonly number[] => model.moments ?? model.strokes.map((s) => s.t);

export function stepMoment(scene: StoreScene, direction: 1 | -1): void {
  const { app, model } = scene;
  if (!model) return;
  const all = momentsOf(model);
  const now = cursorOf(app.session, 'time') ?? -Infinity;
  const next = direction === 1 ? all.find((t) => t > now) : all[lastAtTime(all, now - 1)];
  if (next !== undefined) goTo(scene, next);
}

/** Brings the time cursor to the next moment of the run, in sight; false where there is none. */
export function playMoment({ app, model }: StoreScene): boolean {
  const now = model && (cursorOf(app.session, 'time') ?? -Infinity);
  const next = now === null ? undefined : momentsOf(model!).find((t) => t > now);
  if (!model || next === undefined) return false;
  const range = rangeOf(app, model);
  const store = next < range.from || next > range.to ? within(bringIn(range, next), storeRange(model)) : undefined;
  app.view({ ...withStoreCursor(app.session, 'time', next), ...(store ? { store } : {}) });
  return true;
}

export function goToEnd(scene: StoreScene, end: 'first' | 'last'): void {
  const t = scene.model && momentsOf(scene.model).at(end === 'first' ? 0 : -1);
  if (t !== null && t !== undefined) goTo(scene, t);
}

/** Index of the last moment by `t`; -1 where all are later. */
const lastAtTime = (all: readonly number[], t: number): number =>
  lastAt(
    all.map((m) => ({ t: m })),
    t,
  );

// ---------------------------------------------------------------- words

export interface StoreReading {
  readonly name: string;
  readonly text: string;
}

/** When it is, and what every chamber holds, with the differences from the second cursor; empty without a time cursor. */
export function storeReadings(session: Session, model: StoreModel): StoreReading[] {
  const [time, mark] = [cursorOf(session, 'time'), cursorOf(session, 'mark')];
  return time === null ? [] : readingsOf(model, time, mark ?? undefined, null);
}

/** One line of them; `unit`: only of curves in it. */
export function wordsAt(session: Session, model: StoreModel, unit: string | null, at?: number): string {
  const time = at ?? cursorOf(session, 'time');
  if (time === null) return '';
  const mark = at === undefined ? (cursorOf(session, 'mark') ?? undefined) : undefined;
  const [when, ...others] = readingsOf(model, time, mark, unit);
  return [when!.text, ...others.map((r) => `${r.name} ${r.text}`)].join('; ');
}

function readingsOf(model: StoreModel, t: number, from: number | undefined, unit: string | null): StoreReading[] {
  const strokes = strokesAt(model, t);
  const done = strokes === 1 ? say`1 stroke done` : say`${strokes ?? 0} strokes done`;
  const moment = momentText(t, FOLLOWED);
  const when = strokes === null ? moment : `${moment}, ${done}`;
  const byName = new Map<string, string[]>();
  for (const series of model.series) {
    const text = unit === null || series.unit === unit ? readingText(series, t, from) : null;
    if (text !== null) byName.set(series.name, [...(byName.get(series.name) ?? []), text]);
  }
  const away = from === undefined ? '' : `, ${say`counted from ${momentText(from, FOLLOWED)}`}`;
  return [
    { name: say`at`, text: when + away },
    ...[...byName].map(([name, texts]) => ({ name, text: texts.join(', ') })),
  ];
}
