/** Readings of the built rig under the picture that they are laid over: what deviates, and what explains it. */
import { say } from '../../server/core/words/say';
import type { DiagnosisData, Explained } from '../../server/protocol/readings';
import type { App } from './app';
import { button, h, setText, textTable } from './dom';
import type { Strip } from './hand-strip';
import { shownRig, type ReadingsState } from './session';

const columns = (): string[] => [say`Edge`, say`Expected`, say`Measured`, say`Deviation`, say`Allowed`];

export function createReadings(app: App): Strip {
  const summary = h('strong');
  const diagnose = button(say`Diagnose`, say`Diagnose: which single fault or changed time explains the readings`, () =>
    app.post({ type: 'readings', action: 'diagnose' }),
  );
  const remove = button(say`Remove`, say`Remove the readings`, () => app.post({ type: 'readings', action: 'remove' }));
  const body = h('div', { class: 'side-by-side' });
  const notes = h('ul', { class: 'remarks' });
  const attributes = { class: 'strip readings', 'aria-label': say`Readings`, tabindex: 0 };
  const element = h('section', attributes, h('div', { class: 'actions' }, summary, diagnose, remove), body, notes);
  let drawn: ReadingsState | null = null;
  let announced: Explained | null = null;
  return {
    element,
    draw() {
      const { readings } = app.session;
      element.hidden = readings === null || readings.data.rig !== shownRig(app.session)?.id;
      if (element.hidden || readings === null || readings === drawn) return;
      drawn = readings;
      const { file, data, explained } = readings;
      setText(summary, `${file}: ${data.summary.replaceAll('`', '')}`);
      diagnose.hidden = explained !== null && isOfThisText(readings);
      body.replaceChildren(...parts(readings));
      notes.replaceChildren(...data.notes.map((note) => h('li', {}, note)));
      const isNew = explained !== null && explained.version !== announced?.version;
      announced = explained;
      app.say((isNew ? explained.diagnosis.summary : data.summary).replaceAll('`', ''));
    },
  };
}

const isOfThisText = ({ version, explained }: ReadingsState): boolean => explained?.version === version;

function parts(readings: ReadingsState): HTMLElement[] {
  const { data, explained } = readings;
  const made: HTMLElement[] = [];
  if (explained) made.push(diagnosisOf(explained.diagnosis, isOfThisText(readings)));
  if (data.deviations.length > 0) made.push(textTable(say`What deviates`, columns(), data.deviations));
  return made;
}

function diagnosisOf({ summary, ranking, next }: DiagnosisData, isCurrent: boolean): HTMLElement {
  const items = ranking.map(({ share, what }) => h('li', {}, h('span', { class: 'share' }, share), ` ${what}`));
  const outcomes = (next?.outcomes ?? []).map(({ seen, leaves }) => h('li', {}, `${seen}: ${leaves}`));
  return h(
    'div',
    { class: 'diagnosis' },
    !isCurrent && h('p', { class: 'of-before' }, say`The text has changed since. What it explained then:`),
    h('p', {}, summary),
    h('ol', {}, ...items),
    next && h('p', {}, next.look),
    outcomes.length > 0 && h('ul', { class: 'remarks' }, ...outcomes),
  );
}
