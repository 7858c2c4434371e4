/** The controls of the time cursor: play, pause, steps and speed. */
import { say } from '../../server/core/words/say';
import { FOLLOWED, momentText } from '../../server/core/diagram/kit/time-text';
import type { App } from './app';
import { button, h, setText } from './dom';
import { createPlayback, type PlayedRun } from './playback';
import { storeZero } from './session';

const SPEEDS = [0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 60];

export interface Transport {
  readonly element: HTMLElement;
  draw(): void;
  toggle(): void;
  say(text: string): void;
}

function label(control: HTMLButtonElement, words: string): void {
  control.setAttribute('aria-label', words);
  control.title = words;
}

export function createTransport(app: App, step: (direction: 1 | -1) => void, run: PlayedRun): Transport {
  const toggle = createPlayback(app, run);
  const play = button('▶', say`Play`, toggle);
  const back = button('|◀', say`Previous change`, () => step(-1));
  const forward = button('▶|', say`Next change`, () => step(1));
  const speed = h('select', { 'aria-label': say`Speed` }, ...SPEEDS.map((s) => h('option', { value: s }, `${s} ×`)));
  speed.addEventListener('change', () => app.view({ speed: Number(speed.value) }));
  speed.classList.add('playing');
  const clock = h('output', { class: 'clock', 'aria-label': say`Time cursor` });
  const line = h('p', { class: 'line', role: 'status', 'aria-live': 'polite' });
  const element = h('footer', { class: 'transport' }, back, play, forward, speed, clock, line);

  return {
    element,
    toggle,
    say: (text) => setText(line, text),
    draw() {
      const { playing, view } = app.session;
      element.classList.toggle('still', app.tab() === 'store');
      setText(play, playing ? '❚❚' : '▶');
      play.setAttribute('aria-label', playing ? say`Pause` : say`Play`);
      play.title = playing ? say`Pause` : say`Play`;
      speed.value = String(view.speed ?? 1);
      const zero = app.tab() === 'store' ? storeZero(app.session) : 0;
      const model = app.timing();
      const known = app.tab() === 'store' ? FOLLOWED : (model ?? {});
      setText(clock, view.time === undefined ? '' : momentText(view.time + zero, known));
      for (const control of [play, back, forward, speed]) control.disabled = !model;
      const inStore = app.tab() === 'store';
      label(back, inStore ? say`Previous moment of the run` : say`Previous change`);
      label(forward, inStore ? say`Next moment of the run` : say`Next change`);
    },
  };
}
