/** The bar on top, in one row at any width: tabs, which rig and trigger, zoom, and menus, which are one menu where there is little room. */
import { say } from '../../server/core/words/say';
import type { LookSetting, PanelTab } from '../../server/protocol/preview';
import type { App } from './app';
import { button, h, setAttribute, setText } from './dom';
import { menu, type MenuItem } from './menu';
import { storesOf, timingsOf } from './session';

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

/** The tabs in their order, with what stands on them. */
export const tabNames = (): readonly (readonly [PanelTab, string])[] => [
  ['timing', say`Timing`],
  ['section', say`Section`],
  ['store', say`Store`],
  ['wiring', say`Wiring`],
];

export function createBar(app: App, actions: BarActions): Bar {
  const parts = [tabs(app), pickers(app), zoomButtons(actions), rightSide(app, actions), everything(app, actions)];
  const element = h('header', { class: 'bar' }, ...parts.map((p) => p.element));
  return { element, draw: () => parts.forEach((p) => p.draw()) };
}

function tabs(app: App): Bar {
  const names = tabNames();
  const made = names.map(([tab, name]) => {
    const tabButton = h(
      'button',
      { type: 'button', role: 'tab', id: `tab-${tab}`, 'aria-controls': `panel-${tab}` },
      name,
    );
    tabButton.addEventListener('click', () => app.view({ tab }));
    return tabButton;
  });
  const element = h('div', { class: 'tabs', role: 'tablist', 'aria-label': say`Pictures` }, ...made);
  element.addEventListener('keydown', (event) => {
    const direction = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!direction) return;
    const here = made.indexOf(document.activeElement as HTMLButtonElement);
    const next = made[(here + direction + made.length) % made.length];
    next?.focus();
    next?.click();
  });
  return {
    element,
    draw() {
      made.forEach((tabButton, k) => {
        const tab = names[k]![0];
        const chosen = tab === app.tab();
        setAttribute(tabButton, 'aria-selected', chosen ? 'true' : 'false');
        tabButton.tabIndex = chosen ? 0 : -1;
      });
    },
  };
}

/** Which rig of the file, which trigger; hidden where there is no choice. */
function pickers(app: App): Bar {
  const rig = picker(say`Rig`, (value) =>
    app.view({ rig: value, trigger: 0, run: undefined, store: undefined, ...ELSEWHERE }),
  );
  const run = picker(say`Run`, (value) => chooseRun(app, Number(value)));
  const trigger = picker(say`Trigger`, (value) => chooseTrigger(app, Number(value)));
  return {
    element: h('div', { class: 'pickers' }, rig.element, trigger.element, run.element),
    draw() {
      const shown = app.rig();
      const rigs = app.session.model?.rigs ?? [];
      rig.draw(
        rigs.map((r) => [r.id, r.title]),
        shown?.id ?? '',
      );
      const strokes = timingsOf(app.session);
      trigger.draw(
        strokes.map((t, k) => [String(k), t.id.slice(t.id.indexOf('/') + 1)]),
        String(app.triggerIndex()),
      );
      const inStore = app.tab() === 'store';
      if (inStore) trigger.element.hidden = true;
      const choices = inStore ? [...storesOf(app.session), ...(shown?.plots ?? [])] : [];
      run.draw(
        choices.map((s, k) => [String(k), s.name]),
        String(Math.min(app.session.view.run ?? 0, Math.max(0, choices.length - 1))),
      );
    },
  };
}

const ELSEWHERE = { from: undefined, to: undefined, time: undefined, mark: undefined, zero: undefined };

/** A run that the timing diagram draws, too, is shown there as well: both count from the same moment. */
function chooseRun(app: App, run: number): void {
  const id = storesOf(app.session)[run]?.id;
  const picture = timingsOf(app.session).findIndex((t) => t.id === id);
  app.view({ run, store: undefined, ...ELSEWHERE, ...(picture < 0 ? {} : { trigger: picture }) });
}

function chooseTrigger(app: App, trigger: number): void {
  const id = timingsOf(app.session)[trigger]?.id;
  const run = storesOf(app.session).findIndex((s) => s.id === id);
  app.view({ trigger, from: undefined, to: undefined, zero: undefined, ...(run < 0 ? {} : { run, store: undefined }) });
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
    { class: 'zoom', role: 'group', 'aria-label': say`Zoom` },
    button('−', say`Zoom out (-)`, () => actions.zoom(0.8)),
    button('+', say`Zoom in (+)`, () => actions.zoom(1.25)),
    button(say`Fit`, say`Fit (f)`, actions.fit),
    button(say`100 %`, say`100 percent (1): one second is 100 pixels wide`, actions.actualSize),
  );
  return { element, draw: () => {} };
}

function rightSide(app: App, actions: BarActions): Bar {
  const table = button(say`Table`, say`Show the picture as a table`, () =>
    app.view({ table: !app.session.view.table }),
  );
  const values = button(say`Values`, say`Try other values of constants with a range`, () =>
    app.view({ sliders: !app.session.view.sliders }),
  );
  const menus = [
    menu(say`Compare`, say`Compare: lay a second variant over the drawing`, compareItems(app)),
    menu(say`Export`, say`Export or copy the picture`, exportItems(actions)),
    menu(say`View`, say`View: look of the drawing, lock, source`, viewItems(app)),
  ];
  const name = h('span', { class: 'second' });
  return {
    element: h('div', { class: 'right' }, values, table, name, ...menus.map((m) => m.element)),
    draw() {
      setAttribute(table, 'aria-pressed', app.session.view.table ? 'true' : 'false');
      values.hidden = !hasSliders(app);
      setAttribute(values, 'aria-pressed', app.session.view.sliders ? 'true' : 'false');
      setText(name, app.session.overlay ? say`dashed: ${app.session.overlay.label}` : '');
      name.title = name.textContent ?? '';
      menus.forEach((m) => m.draw());
    },
  };
}

const hasSliders = (app: App): boolean => (app.rig()?.sliders.length ?? 0) > 0;

/** All of zoom and the right side as one menu; shown instead of them where the page is narrow. */
function everything(app: App, actions: BarActions): Bar {
  const { element, draw } = menu(say`More`, say`More: zoom, table, values, comparison, export, look`, [
    { text: say`Zoom in`, act: () => actions.zoom(1.25) },
    { text: say`Zoom out`, act: () => actions.zoom(0.8) },
    { text: say`Fit`, act: actions.fit },
    { text: say`100 %`, act: actions.actualSize },
    {
      text: say`Table`,
      act: () => app.view({ table: !app.session.view.table }),
      isPressed: () => app.session.view.table === true,
    },
    {
      text: say`Values`,
      act: () => app.view({ sliders: !app.session.view.sliders }),
      isPressed: () => app.session.view.sliders === true,
      isOffered: () => hasSliders(app),
    },
    ...compareItems(app),
    ...exportItems(actions),
    ...viewItems(app),
  ]);
  element.classList.add('everything');
  return { element, draw };
}

const lookNames = (): readonly (readonly [LookSetting, string])[] => [
  ['auto', say`Look of the editor`],
  ['light', say`Light look`],
  ['dark', say`Dark look`],
];

/** Look of the drawing, lock, and the way to the source. */
function viewItems(app: App): MenuItem[] {
  const looks = lookNames().map(([look, text]) => ({
    text,
    act: () => app.view({ look }),
    isPressed: () => look === (app.session.view.look ?? app.session.settings.look),
  }));
  return [
    ...looks,
    { text: say`Stay on this file`, act: () => toggleLock(app), isPressed: () => app.session.locked },
    { text: say`Show the source`, act: () => app.post({ type: 'showSource' }) },
  ];
}

function toggleLock(app: App): void {
  const locked = !app.session.locked;
  app.set({ locked });
  app.post({ type: 'lock', locked });
}

function compareItems(app: App): MenuItem[] {
  const isCompared = (): boolean => app.session.overlay !== null;
  return [
    { text: say`Compare with another file…`, act: () => app.post({ type: 'overlay', action: 'choose' }) },
    { text: say`Compare with the saved version`, act: () => app.post({ type: 'overlay', action: 'saved' }) },
    {
      text: say`Take the second variant away`,
      act: () => app.post({ type: 'overlay', action: 'remove' }),
      isOffered: isCompared,
    },
    { text: say`Compare with readings…`, act: () => app.post({ type: 'readings', action: 'choose' }) },
    {
      text: say`Remove the readings`,
      act: () => app.post({ type: 'readings', action: 'remove' }),
      isOffered: () => app.session.readings !== null,
    },
  ];
}

function exportItems(actions: BarActions): MenuItem[] {
  return [
    { text: say`Save as SVG…`, act: () => actions.run('exportSvg') },
    { text: say`Save as PNG…`, act: () => actions.run('exportPng') },
    { text: say`Copy SVG`, act: () => actions.run('copySvg') },
    { text: say`Copy picture`, act: () => actions.run('copyPng') },
    { text: say`Copy tables`, act: () => actions.run('copyTable') },
  ];
}
