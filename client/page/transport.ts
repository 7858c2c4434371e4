/** Play, pause, steps and speed of the time cursor. Where less motion is asked for, playing goes from change to change instead. */
import { changesOf } from '../../server/core/diagram/kit/state';
import { timeText } from '../../server/core/diagram/kit/time-text';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import type { App } from './app';
import { button, h, setText } from './dom';
import { lessMotion } from './looks';
import { storeZero } from './session';

const SPEEDS = [0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 60];
/** Pause between changes while playing with less motion, ms. */
const STEP_PAUSE = 1_200;
/** Between moments of a run of the curves: it takes from seconds to days, so that it is played moment by moment. */
const MOMENT_PAUSE = 250;

export interface Transport {
  readonly element: HTMLElement;
  draw(): void;
  toggle(): void;
  say(text: string): void;
}

/** The range that is played: the first stroke, or up to where the repeat begins. */
export function playedRange(model: TimingModel): { from: number; to: number } {
  const to = model.repeat ? Math.min(model.end, model.repeat.at + model.repeat.interval) : model.home.to;
  return { from: 0, to: Math.max(1, to) };
}

function label(control: HTMLButtonElement, words: string): void {
  control.setAttribute('aria-label', words);
  control.title = words;
}

/** A run of the curves as it is played: to its next moment (false at its end), and before its first. */
export type PlayedRun = { play(): boolean; rewind(): void };

export function createTransport(app: App, step: (direction: 1 | -1) => void, run: PlayedRun): Transport {
  const play = button('▶', 'Play', toggle);
  const back = button('|◀', 'Previous change', () => step(-1));
  const forward = button('▶|', 'Next change', () => step(1));
  const speed = h('select', { 'aria-label': 'Speed' }, ...SPEEDS.map((s) => h('option', { value: s }, `${s} ×`)));
  speed.addEventListener('change', () => app.view({ speed: Number(speed.value) }));
  speed.classList.add('playing');
  const clock = h('output', { class: 'clock', 'aria-label': 'Time cursor' });
  const line = h('p', { class: 'line', role: 'status', 'aria-live': 'polite' });
  const element = h('footer', { class: 'transport' }, back, play, forward, speed, clock, line);
  let last: number | null = null;
  let waiting: ReturnType<typeof setTimeout> | undefined;

  function toggle(): void {
    const model = app.timing();
    if (!model) return;
    const playing = !app.session.playing;
    if (app.tab() === 'store') return playRun(playing);
    const { time } = app.session.view;
    const { from, to } = playedRange(model);
    if (playing && (time === undefined || time >= to)) app.view({ time: from });
    last = null;
    app.set({ playing });
    if (playing) advance();
  }

  /** Goes on after a pause, unless it was stopped; one pause at a time, also where it was started again meanwhile. */
  function later(ms: number, goOn: () => void): void {
    clearTimeout(waiting);
    waiting = setTimeout(() => app.session.playing && goOn(), ms);
  }

  function playRun(playing: boolean): void {
    if (playing && !run.play()) {
      run.rewind();
      run.play();
    }
    last = null;
    app.set({ playing });
    if (playing) advance();
  }

  function advance(): void {
    if (!app.session.playing) return;
    if (app.tab() === 'store') {
      const pause = lessMotion(document.body) ? STEP_PAUSE : MOMENT_PAUSE;
      return later(pause, () => (app.tab() !== 'store' || run.play() ? advance() : app.set({ playing: false })));
    }
    if (lessMotion(document.body)) {
      return later(STEP_PAUSE, nextChange);
    }
    requestAnimationFrame((now) => {
      if (!app.session.playing) return;
      const ms = last === null ? 0 : Math.min(100, now - last);
      last = now;
      moveTo((app.session.view.time ?? 0) + Math.round(ms * 1_000 * (app.session.view.speed ?? 1)));
    });
  }

  function nextChange(): void {
    const model = app.timing();
    const time = app.session.view.time ?? -1;
    moveTo(changesOf(model?.lanes ?? []).find((e) => e.t > time)?.t ?? Infinity);
  }

  function moveTo(time: number): void {
    const model = app.timing();
    if (!model) return app.set({ playing: false });
    const { from, to } = playedRange(model);
    app.view({ time: time > to ? from : time });
    advance();
  }

  return {
    element,
    toggle,
    say: (text) => setText(line, text),
    draw() {
      const { playing, view } = app.session;
      element.classList.toggle('still', app.tab() === 'store');
      setText(play, playing ? '❚❚' : '▶');
      play.setAttribute('aria-label', playing ? 'Pause' : 'Play');
      play.title = playing ? 'Pause' : 'Play';
      speed.value = String(view.speed ?? 1);
      const zero = app.tab() === 'store' ? storeZero(app.session) : 0;
      setText(clock, view.time === undefined ? '' : timeText(view.time + zero));
      const model = app.timing();
      for (const control of [play, back, forward, speed]) control.disabled = !model;
      const words = app.tab() === 'store' ? 'moment of the run' : 'change';
      label(back, `Previous ${words}`);
      label(forward, `Next ${words}`);
    },
  };
}
