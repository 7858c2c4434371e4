/** What differs from the variant that is drawn dashed, as numbers: before, now, by how much. */
import { say } from '../../server/core/words/say';
import type { App } from './app';
import type { DifferenceData } from '../../server/protocol/by-hand';
import { h, setText } from './dom';
import type { Strip } from './hand-strip';
import { comparison, type Comparison } from './session';

const columns = (): string[] => [say`Differs`, say`Before`, say`Now`, say`By`];

export function createComparison(app: App): Strip {
  const caption = h('caption');
  const head = h('thead', {}, h('tr', {}, ...columns().map((name) => h('th', { scope: 'col' }, name))));
  const table = h('table', {}, caption, head);
  const element = h('section', { class: 'strip comparison', 'aria-label': say`Comparison`, tabindex: 0 }, table);
  let drawn: Comparison | null = null;
  return {
    element,
    draw() {
      const found = comparison(app.session);
      element.hidden = found === null;
      if (!found || found.rows === drawn?.rows) return;
      drawn = found;
      const count = found.rows.length;
      const words = count === 0 ? say`nothing differs` : say`${count} differ`;
      setText(caption, say`Compared with ${found.with}: ${words}`);
      head.hidden = count === 0;
      table.replaceChildren(caption, head, ...bodies(found.rows));
    },
  };
}

/** One body of rows for each group, headed by its name where there are several. */
function bodies(rows: readonly DifferenceData[]): HTMLElement[] {
  const groups = [...new Set(rows.map((r) => r.group))];
  return groups.map((group) => {
    const heading = h(
      'tr',
      { class: 'group' },
      h('th', { scope: 'rowgroup', colspan: columns().length }, group[0]!.toUpperCase() + group.slice(1)),
    );
    const body = rows.filter((r) => r.group === group).map(row);
    return h('tbody', {}, groups.length > 1 && heading, ...body);
  });
}

function row({ what, old, now, change }: DifferenceData): HTMLElement {
  return h(
    'tr',
    {},
    h('th', { scope: 'row' }, what),
    ...[old ?? say`none`, now ?? say`none`, change].map((t) => h('td', {}, t)),
  );
}
