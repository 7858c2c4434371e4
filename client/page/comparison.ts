/** What differs from the variant that is drawn dashed, as numbers: before, now, by how much. */
import type { App } from './app';
import { h, setText } from './dom';
import type { Strip } from './hand-strip';
import { comparison, type Comparison } from './session';

const COLUMNS = ['Differs', 'Before', 'Now', 'By'];

export function createComparison(app: App): Strip {
  const caption = h('caption');
  const head = h('thead', {}, h('tr', {}, ...COLUMNS.map((name) => h('th', { scope: 'col' }, name))));
  const body = h('tbody');
  const table = h('table', {}, caption, head, body);
  const element = h('section', { class: 'strip comparison', 'aria-label': 'Comparison', tabindex: 0 }, table);
  let drawn: Comparison | null = null;
  return {
    element,
    draw() {
      const found = comparison(app.session);
      element.hidden = found === null;
      if (!found || found.rows === drawn?.rows) return;
      drawn = found;
      const count = found.rows.length;
      const words = count === 0 ? 'no times, masses or verdicts differ' : `${count} differ`;
      setText(caption, `Compared with ${found.with}: ${words}`);
      head.hidden = count === 0;
      body.replaceChildren(
        ...found.rows.map(({ what, old, now, change }) =>
          h(
            'tr',
            {},
            h('th', { scope: 'row' }, what),
            ...[old ?? 'none', now ?? 'none', change].map((t) => h('td', {}, t)),
          ),
        ),
      );
    },
  };
}
