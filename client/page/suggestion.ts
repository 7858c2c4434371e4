/** What the tuner suggests, under the picture that it is laid over: the values, the reasons, the value of each requirement; written or left. */
import { say } from '../../server/core/words/say';
import type { SuggestionData } from '../../server/protocol/suggestion';
import type { App } from './app';
import { button, h, setText, textTable } from './dom';
import type { Strip } from './hand-strip';
import { shownRig } from './session';

export function createSuggestion(app: App): Strip {
  const summary = h('strong');
  const dashes = h('span', { class: 'muted' }, say`dashed: as suggested`);
  const write = button(say`Write into the text`, say`Write the suggested values into the text`, () =>
    act(app, 'write'),
  );
  const leave = button(say`Leave`, say`Leave the text as it is`, () => act(app, 'leave'));
  const actions = h('div', { class: 'actions' }, summary, dashes, write, leave);
  const tables = h('div', { class: 'side-by-side' });
  const notes = h('ul', { class: 'remarks' });
  const attributes = { class: 'strip suggestion', 'aria-label': say`Suggested values`, tabindex: 0 };
  const element = h('section', attributes, actions, tables, notes);
  let drawn: SuggestionData | null = null;
  return {
    element,
    draw() {
      const { suggestion } = app.session;
      element.hidden = suggestion === null || suggestion.rig !== shownRig(app.session)?.id;
      if (element.hidden || suggestion === null || suggestion === drawn) return;
      drawn = suggestion;
      setText(summary, suggestion.summary);
      for (const part of [dashes, write]) part.hidden = suggestion.model === null;
      tables.replaceChildren(constantsTable(suggestion), requirementsTable(suggestion));
      notes.replaceChildren(...suggestion.notes.map((note) => h('li', {}, note)));
      app.say(suggestion.summary);
    },
  };
}

function act(app: App, action: 'write' | 'leave'): void {
  app.set({ suggestion: null });
  app.post({ type: 'suggestion', action });
}

function constantsTable({ constants }: SuggestionData): HTMLElement {
  const rows = constants.map(({ name, now, suggested, why }) => [name, now, suggested ?? say`stays`, why]);
  return textTable(say`Values`, [say`Constant`, say`Now`, say`Suggested`, say`Why`], rows);
}

function requirementsTable({ requirements }: SuggestionData): HTMLElement {
  const rows = requirements.map(({ text, now, then }) => [text, now, then]);
  return textTable(say`Requirements`, [say`Requirement`, say`Now`, say`Then`], rows);
}
