/**
 * Sliders for constants with a range: other values over the whole preview, marked as tried, until they are written into the text or
 * forgotten.
 */
import { say } from '../../server/core/words/say';
import { quantityWords } from '../../server/core/diagram/kit/quantity-words';
import type { Slider } from '../../server/core/diagram/preview-model';
import type { App } from './app';
import { button, h, setText } from './dom';
import type { Strip } from './hand-strip';
import { oneAtATime } from './one-at-a-time';
import { wantsRuns, writtenRig } from './session';
import { changesText } from './timing/hand';

export function createWhatIf(app: App): Strip {
  const list = h('div', { class: 'sliders' });
  const marked = h('strong', {}, say`Tried values, not in the text`);
  const changes = h('span', { class: 'changes' });
  const write = button(
    say`Write into the text`,
    say`Write the tried values into the text`,
    () => void writeValues(app),
  );
  const forget = button(say`Forget`, say`Show the rig as the text has it`, () => forgetValues(app));
  const actions = h('div', { class: 'actions' }, marked, write, forget, changes);
  const element = h('section', { class: 'strip what-if', 'aria-label': say`Values that may be chosen` }, list, actions);
  const trying = createTrying(app);
  let drawn = '';
  return {
    element,
    draw() {
      const sliders = writtenRig(app.session)?.sliders ?? [];
      element.hidden = sliders.length === 0 || app.session.hand !== null || app.session.view.sliders !== true;
      if (element.hidden) return;
      const key = JSON.stringify(sliders.map(({ source: _source, ...rest }) => rest));
      if (key !== drawn) list.replaceChildren(...sliders.map((s) => row(app, s, trying)));
      drawn = key;
      const { whatIf } = app.session;
      actions.hidden = whatIf === null;
      setText(changes, changesText(whatIf?.changes ?? []));
      if (!trying.busy()) sliders.forEach((s, k) => setRow(list.children[k]!, s, whatIf?.values[s.name] ?? s.value));
    },
  };
}

interface Trying {
  busy(): boolean;
  to(values: Readonly<Record<string, number>>): void;
}

function row(app: App, slider: Slider, trying: Trying): HTMLElement {
  const input = h('input', {
    type: 'range',
    min: slider.low,
    max: slider.high,
    step: 'any',
    'aria-label': slider.name,
  });
  const name = button(slider.name, say`${slider.name}: show the source`, () => app.reveal(slider.source, true));
  const made = h('div', { class: 'slider' }, name, input, h('output'));
  const put = (value: number): void => {
    setRow(made, slider, value);
    trying.to({ ...app.session.whatIf?.values, [slider.name]: value });
  };
  input.addEventListener('input', () => put(stepped(slider, Number(input.value))));
  input.addEventListener('keydown', (event) => {
    const steps = KEYS[event.key];
    if (steps === undefined) return;
    event.preventDefault();
    const now = Number(input.value);
    put(stepped(slider, now + steps * (event.shiftKey ? 10 : 1) * slider.step));
  });
  return made;
}

const KEYS: Readonly<Record<string, number>> = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 };

function stepped({ low, high, step }: Slider, value: number): number {
  const rounded = Number((Math.round(value / step) * step).toPrecision(12));
  return Math.min(high, Math.max(low, rounded));
}

function setRow(row: Element, slider: Slider, value: number): void {
  const input = row.querySelector('input')!;
  input.value = String(value);
  const words = quantityWords(value, slider.dimension);
  input.setAttribute('aria-valuetext', words);
  const was = value === slider.value ? '' : ` (${say`${quantityWords(slider.value, slider.dimension)} in the text`})`;
  setText(row.querySelector('output')!, `${words}${was}`);
}

/** One trial at a time; the newest values are tried when the one before has come. */
function createTrying(app: App): Trying {
  let wanted: Readonly<Record<string, number>> = {};
  const trials = oneAtATime(async () => {
    const values = wanted;
    const rig = writtenRig(app.session)?.id ?? '';
    const answer = await app.ask({ ask: 'try', values, stores: wantsRuns(app.session) }, rig);
    if (values !== wanted) return;
    if (answer?.kind !== 'tried')
      return app.say(say`The rig cannot be computed with these values, or the text has changed.`);
    app.set({
      whatIf: { rig, values, model: answer.model, changes: answer.changes, differences: answer.differences },
      playing: false,
    });
    app.say(say`Tried. ${changesText(answer.changes)}`.trim());
  });
  return {
    busy: trials.isBusy,
    to(values) {
      wanted = values;
      trials.run();
    },
  };
}

async function writeValues(app: App): Promise<void> {
  const { whatIf } = app.session;
  if (!whatIf) return;
  const answer = await app.ask({ ask: 'write', values: whatIf.values }, whatIf.rig);
  const written = answer?.kind === 'edits';
  if (!written || answer.edits.length === 0) app.set({ whatIf: null });
  app.say(written ? say`Written into the text. Undo takes it back.` : say`The text has changed; nothing was written.`);
}

export function forgetValues(app: App): void {
  app.set({ whatIf: null });
  app.say(say`Forgotten: the rig is shown as the text has it.`);
}
