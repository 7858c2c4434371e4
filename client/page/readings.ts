/** Readings of the built rig under the picture that they are laid over: what deviates, and what explains it. */
import type { DiagnosisData, ReadingsData } from '../../server/protocol/readings';
import type { App } from './app';
import { button, h, setText, textTable } from './dom';
import type { Strip } from './hand-strip';
import { shownRig } from './session';

const COLUMNS = ['Edge', 'Expected', 'Measured', 'Deviation', 'Allowed'];

export function createReadings(app: App): Strip {
  const summary = h('strong');
  const diagnose = button('Diagnose', 'Diagnose: which single fault or changed time explains the readings', () =>
    app.post({ type: 'readings', action: 'diagnose' }),
  );
  const remove = button('Remove', 'Remove the readings', () => app.post({ type: 'readings', action: 'remove' }));
  const body = h('div', { class: 'side-by-side' });
  const notes = h('ul', { class: 'remarks' });
  const attributes = { class: 'strip readings', 'aria-label': 'Readings', tabindex: 0 };
  const element = h('section', attributes, h('div', { class: 'actions' }, summary, diagnose, remove), body, notes);
  let drawn: ReadingsData | null = null;
  return {
    element,
    draw() {
      const { readings } = app.session;
      element.hidden = readings === null || readings.data.rig !== shownRig(app.session)?.id;
      if (element.hidden || readings === null || readings.data === drawn) return;
      drawn = readings.data;
      setText(summary, `${readings.file}: ${drawn.summary.replaceAll('`', '')}`);
      diagnose.hidden = drawn.diagnosis !== null;
      body.replaceChildren(...parts(drawn));
      notes.replaceChildren(...drawn.notes.map((note) => h('li', {}, note)));
      app.say((drawn.diagnosis?.summary ?? drawn.summary).replaceAll('`', ''));
    },
  };
}

function parts({ deviations, diagnosis }: ReadingsData): HTMLElement[] {
  const made: HTMLElement[] = [];
  if (diagnosis) made.push(explained(diagnosis));
  if (deviations.length > 0) made.push(textTable('What deviates', COLUMNS, deviations));
  return made;
}

function explained({ summary, ranking, next }: DiagnosisData): HTMLElement {
  const items = ranking.map(({ share, what }) => h('li', {}, h('span', { class: 'share' }, share), ` ${what}`));
  const outcomes = (next?.outcomes ?? []).map(({ seen, leaves }) => h('li', {}, `${seen}: ${leaves}`));
  return h(
    'div',
    { class: 'diagnosis' },
    h('p', {}, summary),
    h('ol', {}, ...items),
    next && h('p', {}, next.look),
    outcomes.length > 0 && h('ul', { class: 'remarks' }, ...outcomes),
  );
}
