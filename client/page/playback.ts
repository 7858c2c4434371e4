/** Playing: the time cursor goes on by itself, or from change to change where less motion is asked for; curves from moment to moment. */
import { changesOf } from '../../server/core/diagram/kit/state';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import type { App } from './app';
import { lessMotion } from './looks';

/** Pause between changes while playing with less motion, ms. */
const STEP_PAUSE = 1_200;
/** Between moments of a run of the curves: it takes from seconds to days, so that it is played moment by moment. */
const MOMENT_PAUSE = 250;

/** The range that is played: the first stroke, or up to where the repeat begins. */
export function playedRange(model: TimingModel): { from: number; to: number } {
  const to = model.repeat ? Math.min(model.end, model.repeat.at + model.repeat.interval) : model.home.to;
  return { from: 0, to: Math.max(1, to) };
}

/** A run of the curves as it is played: to its next moment (false at its end), and before its first. */
export type PlayedRun = { play(): boolean; rewind(): void };

/** Gives what starts and stops playing. */
export function createPlayback(app: App, run: PlayedRun): () => void {
  let last: number | null = null;
  let waiting: ReturnType<typeof setTimeout> | undefined;

  function toggle(): void {
    const model = app.timing();
    if (!model) return;
    const playing = !app.session.playing;
    if (playing) begin(app, model, run);
    last = null;
    app.set({ playing });
    if (playing) advance();
  }

  /** Goes on after a pause, unless it was stopped; one pause at a time, also where it was started again meanwhile. */
  function later(ms: number, goOn: () => void): void {
    clearTimeout(waiting);
    waiting = setTimeout(() => app.session.playing && goOn(), ms);
  }

  function advance(): void {
    if (!app.session.playing) return;
    if (app.tab() === 'store') {
      const pause = lessMotion(document.body) ? STEP_PAUSE : MOMENT_PAUSE;
      return later(pause, () => (app.tab() !== 'store' || run.play() ? advance() : app.set({ playing: false })));
    }
    if (lessMotion(document.body)) return later(STEP_PAUSE, () => moveTo(nextChange(app)));
    requestAnimationFrame((now) => {
      if (!app.session.playing) return;
      const ms = last === null ? 0 : Math.min(100, now - last);
      last = now;
      moveTo((app.session.view.time ?? 0) + Math.round(ms * 1_000 * (app.session.view.speed ?? 1)));
    });
  }

  function moveTo(time: number): void {
    const model = app.timing();
    if (!model) return app.set({ playing: false });
    const { from, to } = playedRange(model);
    app.view({ time: time > to ? from : time });
    advance();
  }

  return toggle;
}

/** A run of the curves goes on, or begins anew at its end; so does the time cursor. */
function begin(app: App, model: TimingModel, run: PlayedRun): void {
  if (app.tab() === 'store') {
    if (run.play()) return;
    run.rewind();
    run.play();
    return;
  }
  const { time } = app.session.view;
  const { from, to } = playedRange(model);
  if (time === undefined || time >= to) app.view({ time: from });
}

/** When something changes next in the picture; `Infinity` behind the last change. */
function nextChange(app: App): number {
  const time = app.session.view.time ?? -1;
  return changesOf(app.timing()?.lanes ?? []).find((e) => e.t > time)?.t ?? Infinity;
}
