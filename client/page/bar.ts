/** The bar on top: tabs, which rig and trigger, zoom, table, look, second variant, export, lock. */
import type { LookSetting, PanelTab } from '../../server/protocol/preview';
import type { App } from './app';
import { button, h, setAttribute, setText } from './dom';

export interface BarActions {
  fit(): void;
  actualSize(): void;
  zoom(factor: number): void;
  run(action: 'exportSvg' | 'exportPng' | 'copySvg' | 'copyPng' | 'copyTable'): void;
}

export interface Bar {
  readonly element: HTMLElement;
  draw(): void;
}

const TABS: readonly (readonly [PanelTab, string])[] = [
  ['timing', 'Timing'],
  ['section', 'Section'],
  ['store', 'Store'],
  ['wiring', 'Wiring'],
];

export function createBar(app: App, actions: BarActions): Bar {
  const parts = [tabs(app), pickers(app), zoomButtons(actions), rightSide(app, actions)];
  const element = h('header', { class: 'bar' }, ...parts.map((p) => p.element));
  return { element, draw: () => parts.forEach((p) => p.draw()) };
}

function tabs(app: App): Bar {
  const made = TABS.map(([tab, name]) => {
    const tabButton = h(
      'button',
      { type: 'button', role: 'tab', id: `tab-${tab}`, 'aria-controls': `panel-${tab}` },
      name,
    );
    tabButton.addEventListener('click', () => app.view({ tab }));
    return tabButton;
  });
  const element = h('div', { class: 'tabs', role: 'tablist', 'aria-label': 'Pictures' }, ...made);
  element.addEventListener('keydown', (event) => {
    const direction = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!direction) return;
    const usable = made.filter((b) => !b.hidden);
    const next =
      usable[(usable.indexOf(document.activeElement as HTMLButtonElement) + direction + usable.length) % usable.length];
    next?.focus();
    next?.click();
  });
  return {
    element,
    draw() {
      made.forEach((tabButton, k) => {
        const tab = TABS[k]![0];
        const chosen = tab === app.tab();
        tabButton.hidden = tab === 'store' && !app.rig()?.hasStores;
        setAttribute(tabButton, 'aria-selected', chosen ? 'true' : 'false');
        tabButton.tabIndex = chosen ? 0 : -1;
      });
    },
  };
}

/** Which rig of the file, which trigger; hidden where there is no choice. */
function pickers(app: App): Bar {
  const rig = picker('Rig', (value) =>
    app.view({ rig: value, trigger: 0, from: undefined, to: undefined, time: undefined }),
  );
  const run = picker('Run', (value) => app.view({ run: Number(value), store: undefined }));
  const trigger = picker('Trigger', (value) => app.view({ trigger: Number(value), from: undefined, to: undefined }));
  return {
    element: h('div', { class: 'pickers' }, rig.element, trigger.element, run.element),
    draw() {
      const shown = app.rig();
      const rigs = app.session.model?.rigs ?? [];
      rig.draw(
        rigs.map((r) => [r.id, r.title]),
        shown?.id ?? '',
      );
      const strokes = shown?.timing ?? [];
      trigger.draw(
        strokes.map((t, k) => [String(k), t.id.slice(t.id.indexOf('/') + 1)]),
        String(app.triggerIndex()),
      );
      const inStore = app.tab() === 'store';
      if (inStore) trigger.element.hidden = true;
      const stores = inStore ? (shown?.stores ?? []) : [];
      run.draw(
        stores.map((s, k) => [String(k), s.name]),
        String(Math.min(app.session.view.run ?? 0, Math.max(0, stores.length - 1))),
      );
    },
  };
}

function picker(label: string, chosen: (value: string) => void) {
  const select = h('select', { 'aria-label': label, title: label });
  select.addEventListener('change', () => chosen(select.value));
  return {
    element: select,
    draw(options: readonly (readonly [string, string])[], value: string) {
      const text = JSON.stringify(options);
      if (select.dataset.options !== text) {
        select.dataset.options = text;
        select.replaceChildren(...options.map(([v, name]) => h('option', { value: v }, name)));
      }
      select.value = value;
      select.hidden = options.length < 2;
    },
  };
}

function zoomButtons(actions: BarActions): Bar {
  const element = h(
    'div',
    { class: 'zoom', role: 'group', 'aria-label': 'Zoom' },
    button('−', 'Zoom out (-)', () => actions.zoom(0.8)),
    button('+', 'Zoom in (+)', () => actions.zoom(1.25)),
    button('Fit', 'Fit (f)', actions.fit),
    button('100 %', '100 percent (1): one second is 100 pixels wide', actions.actualSize),
  );
  return { element, draw: () => {} };
}

function rightSide(app: App, actions: BarActions): Bar {
  const table = button('Table', 'Show the picture as a table', () => app.view({ table: !app.session.view.table }));
  const values = button('Values', 'Try other values of constants with a range', () =>
    app.view({ sliders: !app.session.view.sliders }),
  );
  const second = secondMenu(app);
  const view = viewMenu(app);
  return {
    element: h('div', { class: 'right' }, values, table, second.element, exportMenu(actions), view.element),
    draw() {
      setAttribute(table, 'aria-pressed', app.session.view.table ? 'true' : 'false');
      values.hidden = (app.rig()?.sliders.length ?? 0) === 0;
      setAttribute(values, 'aria-pressed', app.session.view.sliders ? 'true' : 'false');
      second.draw();
      view.draw();
    },
  };
}

const LOOKS: readonly (readonly [LookSetting, string])[] = [
  ['auto', 'Look of the editor'],
  ['light', 'Light look'],
  ['dark', 'Dark look'],
];

/** Look of the drawing, lock, and the way to the source. */
function viewMenu(app: App): Bar {
  const element = menu('View', 'Look of the drawing, lock, source', [
    ...LOOKS.map(([look, name]) => [name, () => app.view({ look })] as const),
    ['Stay on this file', () => toggleLock(app)] as const,
    ['Show the source', () => app.post({ type: 'showSource' })] as const,
  ]);
  const items = [...element.querySelectorAll('.list button')];
  return {
    element,
    draw() {
      const chosen = app.session.view.look ?? app.session.settings.look;
      LOOKS.forEach(([look], k) => setAttribute(items[k]!, 'aria-pressed', look === chosen ? 'true' : 'false'));
      setAttribute(items[LOOKS.length]!, 'aria-pressed', app.session.locked ? 'true' : 'false');
    },
  };
}

function toggleLock(app: App): void {
  const locked = !app.session.locked;
  app.set({ locked });
  app.post({ type: 'lock', locked });
}

/** A button that opens a short list of actions; closes on Escape, on choosing and on a click elsewhere. */
function menu(text: string, label: string, items: readonly (readonly [string, () => void])[]): HTMLDetailsElement {
  const element = h('details', { class: 'menu' }, h('summary', { 'aria-label': label, title: label }, text));
  const list = h('div', { class: 'list', role: 'group', 'aria-label': label });
  for (const [name, act] of items) {
    const item = h('button', { type: 'button' }, name);
    item.addEventListener('click', () => {
      element.open = false;
      element.querySelector('summary')?.focus();
      act();
    });
    list.append(item);
  }
  element.append(list);
  element.addEventListener('keydown', (event) => {
    if (event.key !== 'Escape' || !element.open) return;
    event.stopPropagation();
    element.open = false;
    element.querySelector('summary')?.focus();
  });
  document.addEventListener('click', (event) => {
    if (!element.contains(event.target as Node)) element.open = false;
  });
  return element;
}

function secondMenu(app: App): Bar {
  const element = menu('Compare', 'Lay a second variant over the drawing', [
    ['With another file…', () => app.post({ type: 'overlay', action: 'choose' })],
    ['With the saved version', () => app.post({ type: 'overlay', action: 'saved' })],
    ['Take the second variant away', () => app.post({ type: 'overlay', action: 'remove' })],
  ]);
  const name = h('span', { class: 'second' });
  return {
    element: h('div', { class: 'compare' }, element, name),
    draw() {
      setText(name, app.session.overlay ? `dashed: ${app.session.overlay.label}` : '');
    },
  };
}

function exportMenu(actions: BarActions): HTMLElement {
  return menu('Export', 'Export or copy the picture', [
    ['Save as SVG…', () => actions.run('exportSvg')],
    ['Save as PNG…', () => actions.run('exportPng')],
    ['Copy SVG', () => actions.run('copySvg')],
    ['Copy picture', () => actions.run('copyPng')],
    ['Copy tables', () => actions.run('copyTable')],
  ]);
}
