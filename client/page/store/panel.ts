/** The curves: which run, zoom and pan along time, and as a picture. */
import type { Look } from '../../../server/core/diagram/kit/palette';
import type { Figure } from '../../../server/core/diagram/kit/shape';
import type { StoreModel } from '../../../server/core/diagram/store/model';
import { drawStore, layoutStore, storeRange, type StoreView } from '../../../server/core/diagram/store/svg';
import type { App } from '../app';
import { h, setText } from '../dom';
import { patch } from '../patch';
import { shifted, within, zoomed, type Range } from '../range';
import type { Panel } from '../timing/panel';

/** Width of exported curves, px. */
const FILE_WIDTH = 1000;

/** The run that is shown; null where none is computed yet. */
export function storeOf(app: App): StoreModel | null {
  const stores = app.rig()?.stores ?? [];
  return stores[Math.min(app.session.view.run ?? 0, stores.length - 1)] ?? null;
}

function secondOf(app: App, model: StoreModel): StoreModel | null {
  const rigs = app.session.overlay?.rigs ?? [];
  const other = rigs.find((r) => r.id === app.rig()?.id) ?? rigs[0];
  return other?.stores?.find((s) => s.name === model.name) ?? null;
}

function rangeOf(app: App, model: StoreModel): Range {
  return app.session.view.store ?? storeRange(model);
}

function viewOf(app: App, model: StoreModel, look: Look, width: number): StoreView {
  return { look, width, ...rangeOf(app, model), idPrefix: 'store-', second: secondOf(app, model) };
}

/** The curves for an export. */
export function storeFigure(app: App, look: Look): Figure | null {
  const model = storeOf(app);
  return model && drawStore(model, viewOf(app, model, look, FILE_WIDTH));
}

export function createStorePanel(app: App): Panel {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  const words = h('p', { class: 'notes' });
  const scroller = h('div', { class: 'curves', tabindex: 0, role: 'group' });
  scroller.append(svg);
  const element = h('div', { class: 'panel-timing' }, words, scroller);

  function draw(): void {
    const model = storeOf(app);
    setText(words, model ? [model.subtitle, ...model.notes].join('. ') : 'Computing the curves…');
    if (scroller.clientWidth === 0) return;
    if (!model) return patch(svg, []);
    const view = viewOf(app, model, app.look(), Math.max(280, scroller.clientWidth));
    const figure = drawStore(model, { ...view, height: scroller.clientHeight });
    svg.setAttribute('width', String(figure.width));
    svg.setAttribute('height', String(figure.height));
    scroller.setAttribute('aria-label', `Curves of ${model.title}: ${model.subtitle}`);
    patch(svg, figure.shapes);
  }

  function change(next: (model: StoreModel, now: Range) => Range): void {
    const model = storeOf(app);
    if (model) app.view({ store: within(next(model, rangeOf(app, model)), storeRange(model)) });
  }
  const fit = () => app.view({ store: undefined });
  const zoom = (factor: number, at?: number) => change((_, now) => zoomed(now, factor, at ?? (now.from + now.to) / 2));
  const pan = (part: number) => change((_, now) => shifted(now, part * (now.to - now.from)));

  const KEYS: Record<string, () => void> = {
    '+': () => zoom(1.25),
    '=': () => zoom(1.25),
    '-': () => zoom(0.8),
    ArrowLeft: () => pan(-0.1),
    ArrowRight: () => pan(0.1),
    f: fit,
    '1': fit,
  };
  scroller.addEventListener('keydown', (event) => {
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
  scroller.addEventListener(
    'wheel',
    (event) => {
      const model = storeOf(app);
      if (!model || !(event.ctrlKey || event.metaKey || event.shiftKey)) return;
      event.preventDefault();
      if (event.shiftKey) return pan((event.deltaX || event.deltaY) / 800);
      const layout = layoutStore(model, viewOf(app, model, app.look(), scroller.clientWidth));
      zoom(Math.exp(-event.deltaY / 300), layout.time(event.clientX - svg.getBoundingClientRect().left));
    },
    { passive: false },
  );
  scroller.addEventListener('dblclick', fit);
  dragToPan(scroller, (px) => pan(px / Math.max(1, scroller.clientWidth)));
  new ResizeObserver(draw).observe(scroller);
  return { element, draw, fit, actualSize: fit, zoom: (factor) => zoom(factor) };
}

/** Calls back with the px that the picture is dragged to the left. */
function dragToPan(element: HTMLElement, pan: (px: number) => void): void {
  let last: number | null = null;
  element.addEventListener('pointerdown', (event) => {
    if (event.button === 0) last = event.clientX;
  });
  element.addEventListener('pointermove', (event) => {
    if (last === null || event.buttons === 0 || Math.abs(event.clientX - last) < 3) return;
    element.setPointerCapture(event.pointerId);
    pan(last - event.clientX);
    last = event.clientX;
  });
  element.addEventListener('pointerup', () => {
    last = null;
  });
}
