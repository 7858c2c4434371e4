/** What is in the hand, as words beside the picture: the edge, the value that holds it, what breaks; with buttons for those who want them. */
import { say } from '../../server/core/words/say';
import { timeText } from '../../server/core/diagram/kit/time-text';
import type { App } from './app';
import { button, h, setText } from './dom';
import { changesText, heldBack, type Hand } from './timing/hand';
import { worstWords } from './timing/worst';

export interface Strip {
  readonly element: HTMLElement;
  draw(): void;
}

export function createHandStrip(app: App, hands: Hand): Strip {
  const edge = h('strong');
  const value = h('span', { class: 'value' });
  const next = button(say`Next value`, say`Move it by the next value of its chain of causes (n)`, () =>
    hands.nextChoice(1),
  );
  const write = button(say`Write into the text`, say`Write into the text (Enter)`, () => hands.drop());
  const away = button(say`Leave`, say`Leave it as it was (Escape)`, () => hands.leave());
  const changes = h('span', { class: 'changes' });
  const worst = h('span', { class: 'worst' });
  const element = h(
    'section',
    { class: 'strip hand-strip', 'aria-label': say`In the hand` },
    edge,
    value,
    next,
    write,
    away,
    changes,
    worst,
  );
  return {
    element,
    draw() {
      const { hand } = app.session;
      element.hidden = hand === null;
      if (!hand) return;
      const choice = hand.choices?.[hand.choice];
      const now = hand.moved?.t ?? hand.from;
      setText(
        edge,
        now === hand.from ? `${hand.name} ${timeText(now)}` : `${hand.name} ${timeText(hand.from)} → ${timeText(now)}`,
      );
      const count = hand.choices ? ` (${say`${hand.choice + 1} of ${hand.choices.length}`})` : '';
      const text = hand.moved?.text ?? choice?.text ?? '';
      setText(
        value,
        choice ? `${choice.label} ${text === choice.text ? text : `${choice.text} → ${text}`}${count}` : say`looking…`,
      );
      next.hidden = (hand.choices?.length ?? 0) < 2;
      const held = hand.moved?.held ? heldBack(hand.moved.held) : '';
      setText(changes, `${held} ${changesText(hand.moved?.changes ?? [])}`.trim());
      changes.hidden = changes.textContent === '';
      setText(worst, hand.worst ? worstWords(hand.worst) : say`Within tolerance: being computed…`);
      worst.hidden = !hand.isLoose || hand.worst?.of === 0;
      worst.dataset['state'] = !hand.worst
        ? 'pending'
        : hand.worst.changes.some((c) => c.now === 'lost')
          ? 'lost'
          : 'kept';
    },
  };
}
