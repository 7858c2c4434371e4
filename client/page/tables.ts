/** The tables under a picture: the same facts in words and numbers, and the states at the time cursor. */
import { say } from '../../server/core/words/say';
import { laneWords } from '../../server/core/diagram/kit/state';
import { tableText, type Table, type TableRow } from '../../server/core/diagram/kit/table';
import { momentText } from '../../server/core/diagram/kit/time-text';
import type { TimingModel } from '../../server/core/diagram/timing/model';
import type { App } from './app';
import { button, h, setText } from './dom';

/** Rows that are shown of one table; the rest is counted. */
const MOST_ROWS = 400;

export interface TablesView {
  readonly element: HTMLElement;
  draw(): void;
  /** The tables shown, as text for the clipboard. */
  text(): string;
}

export function createTables(app: App, tablesOf: (app: App) => readonly Table[]): TablesView {
  const state = h('div', { class: 'state' });
  const fixed = h('div', { class: 'fixed' });
  const element = h('section', { class: 'tables', 'aria-label': say`Tables` }, state, fixed);
  let shown: readonly Table[] | null = null;

  function draw(): void {
    element.hidden = app.session.view.table !== true;
    if (element.hidden) return;
    drawState(app, state);
    const tables = tablesOf(app);
    if (tables === shown) return;
    shown = tables;
    fixed.replaceChildren(...tables.map((t) => htmlTable(app, t)));
  }

  return {
    element,
    draw,
    text: () =>
      tablesOf(app)
        .map((t) => `${t.caption}\n${tableText(t)}`)
        .join('\n'),
  };
}

/** What every lane is at the time cursor; the cells are kept and only their text changes. */
function drawState(app: App, element: HTMLElement): void {
  const model = app.timing();
  const { time } = app.session.view;
  element.hidden = !model || time === undefined;
  if (!model || time === undefined) return;
  const table = stateTable(model, time);
  const cells = [...element.querySelectorAll('tbody td')];
  const caption = element.querySelector('caption');
  const names = [...element.querySelectorAll('tbody th')].map((c) => c.textContent);
  if (!caption || names.join('\n') !== table.rows.map((r) => r.cells[0]).join('\n')) {
    element.replaceChildren(htmlTable(app, table));
    return;
  }
  setText(caption, table.caption);
  table.rows.forEach((row, k) => setText(cells[k]!, row.cells[1]!));
}

function stateTable(model: TimingModel, time: number): Table {
  const rows = model.lanes.map((lane): TableRow => ({
    id: lane.id,
    cells: [lane.name, laneWords(lane, time)],
    source: lane.source,
  }));
  return { caption: say`At ${momentText(time, model)}`, columns: [say`Lane`, say`State`], rows };
}

function htmlTable(app: App, table: Table): HTMLTableElement {
  const head = h('tr', {}, ...table.columns.map((c) => h('th', { scope: 'col' }, c)));
  const rows = table.rows.slice(0, MOST_ROWS).map((row) => htmlRow(app, row));
  const more = table.rows.length - rows.length;
  const rest =
    more > 0 &&
    h('tr', {}, h('td', { colspan: table.columns.length }, say`… and ${more} more; copy the table to have them all`));
  return h('table', {}, h('caption', {}, table.caption), h('thead', {}, head), h('tbody', {}, ...rows, rest));
}

function htmlRow(app: App, row: TableRow): HTMLTableRowElement {
  const [first, ...others] = row.cells;
  const name = row.source
    ? button(first!, say`${first!}: show the source`, () => app.reveal(row.source, true))
    : (first ?? '');
  const made = h('tr', { 'data-row': row.id }, h('th', { scope: 'row' }, name), ...others.map((c) => h('td', {}, c)));
  if (row.id.includes('/')) {
    const light = (on: boolean) => app.set({ litEdge: on ? row.id : null });
    made.addEventListener('pointerenter', () => light(true));
    made.addEventListener('pointerleave', () => light(false));
    made.addEventListener('focusin', () => light(true));
    made.addEventListener('focusout', () => light(false));
  }
  return made;
}
