/** A counter-example, step by step: what is done and when, up to the moment at which the property breaks. */
import { say } from '../../server/core/words/say';
import { timeText } from '../../server/core/diagram/kit/time-text';
import type { ExampleSteps } from '../../server/core/diagram/preview-model';
import type { App } from './app';
import { button, h, setAttribute, setText } from './dom';
import type { Strip } from './hand-strip';
import { shownExample } from './session';

export function createPlayer(app: App, goTo: (t: number) => void): Strip {
  const title = h('strong');
  const list = h('ol', { class: 'steps' });
  const back = button(say`Step back`, say`Step back: the step before`, () => step(-1));
  const forward = button(say`Next step`, say`Next step of the counter-example`, () => step(1));
  const element = h(
    'section',
    { class: 'strip player', 'aria-label': say`Counter-example` },
    title,
    back,
    forward,
    list,
  );
  let drawn: ExampleSteps | null = null;

  function step(direction: 1 | -1): void {
    const example = shownExample(app.session);
    if (!example) return;
    const next = example.steps[stepAt(example, app.session.view.time) + direction];
    if (!next) return;
    app.set({ playing: false });
    goTo(next.t);
    app.say(wordsOf(next));
  }

  return {
    element,
    draw() {
      const example = shownExample(app.session);
      element.hidden = example === null;
      if (!example) return;
      if (example !== drawn) {
        drawn = example;
        setText(title, say`Counter-example to ${example.property}`);
        list.replaceChildren(
          ...example.steps.map((s) =>
            h(
              'li',
              {},
              button(wordsOf(s), wordsOf(s), () => goTo(s.t)),
            ),
          ),
        );
      }
      const now = stepAt(example, app.session.view.time);
      [...list.children].forEach((item, k) => setAttribute(item, 'aria-current', k === now ? 'step' : undefined));
      back.disabled = now <= 0;
      forward.disabled = now >= example.steps.length - 1;
    },
  };
}

const wordsOf = ({ t, text }: ExampleSteps['steps'][number]): string => `${timeText(t)}: ${text}`;

/** The last step that has been made at a moment; -1 before the first. */
function stepAt({ steps }: ExampleSteps, time: number | undefined): number {
  return time === undefined ? -1 : steps.filter((s) => s.t <= time).length - 1;
}
