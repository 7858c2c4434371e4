/** The curves: which run, zoom and pan along time, the cursors in it, and as a picture. Pointer and keyboard are in files of their own. */
import { say } from '../../../server/core/words/say';
import type { Look } from '../../../server/core/diagram/kit/palette';
import type { Figure } from '../../../server/core/diagram/kit/shape';
import type { StoreModel } from '../../../server/core/diagram/store/model';
import { drawPlot } from '../../../server/core/diagram/store/plot-svg';
import { drawStore, type StoreView } from '../../../server/core/diagram/store/svg';
import type { App } from '../app';
import { h, setAttribute, setText } from '../dom';
import { patch } from '../patch';
import { shownPlot, shownStore, storeZero } from '../session';
import type { Panel } from '../timing/panel';
import { listenToKeys, storeKeyHelp } from './keys';
import { createPlotPanel } from './plot';
import { listenToPointer } from './pointer';
import { fit, playMoment, rangeOf, stepMoment, zoom, type StoreScene } from './scene';

/** Width of exported curves, px. */
const FILE_WIDTH = 1000;
const NARROWEST = 280;

export interface StorePanel extends Panel {
  /** Moves the time cursor to the next (1) or previous (-1) moment of the run. */
  step(direction: 1 | -1): void;
  /** Brings it to the next moment while the run is played; false at its end. */
  play(): boolean;
  /** Before the first moment. */
  rewind(): void;
}

function secondOf(app: App, model: StoreModel): StoreModel | null {
  const readings = app.session.readings?.data;
  if (readings && readings.expected === model) return readings.measured;
  const rigs = app.session.overlay?.rigs ?? [];
  const other = rigs.find((r) => r.id === app.rig()?.id) ?? rigs[0];
  return other?.stores?.find((s) => s.name === model.name) ?? null;
}

function viewOf(app: App, model: StoreModel, look: Look, width: number): StoreView {
  const { time, mark } = app.session.view;
  const zero = storeZero(app.session);
  return {
    look,
    width,
    ...rangeOf(app, model),
    idPrefix: 'store-',
    second: secondOf(app, model),
    time: time === undefined ? undefined : time + zero,
    mark: mark === undefined ? undefined : mark + zero,
  };
}

/** The curves for an export. */
export function storeFigure(app: App, look: Look): Figure | null {
  const plot = shownPlot(app.session);
  if (plot) return drawPlot(plot, { look, width: FILE_WIDTH, idPrefix: 'plot-' });
  const model = shownStore(app.session);
  return model && drawStore(model, viewOf(app, model, look, FILE_WIDTH));
}

export function createStorePanel(app: App): StorePanel {
  const scene = createScene(app);
  const plot = createPlotPanel(app);
  const words = h('p', { class: 'notes' });
  const help = h('p', { class: 'unseen', id: 'store-help' }, storeKeyHelp());
  const element = h('div', { class: 'panel-timing' }, help, words, scene.scroller, plot.element);

  function draw(): void {
    const shown = shownPlot(app.session);
    const model = shown ? null : shownStore(app.session);
    scene.scroller.hidden = shown !== null;
    plot.element.hidden = shown === null;
    if (shown) {
      scene.model = null;
      setText(words, joined([shown.subtitle, ...shown.notes]));
      return plot.draw(shown);
    }
    setText(words, model ? joined([model.subtitle, ...model.notes]) : emptyWords(app));
    words.hidden = false;
    drawModel(scene, model);
  }

  listenToPointer(scene);
  listenToKeys(scene);
  new ResizeObserver(draw).observe(scene.scroller);
  return {
    element,
    draw,
    fit: () => fit(scene),
    actualSize: () => fit(scene),
    zoom: (factor) => zoom(scene, factor),
    step: (direction) => stepMoment(scene, direction),
    play: () => playMoment(scene),
    rewind: () => app.view({ time: undefined, zero: undefined }),
  };
}

/** One after the other, a full stop between two; some have their own. */
const joined = (sentences: readonly string[]): string =>
  sentences.map((s, k) => (s.endsWith('.') || k === sentences.length - 1 ? s : `${s}.`)).join(' ');

const emptyWords = (app: App): string => app.rig()?.storesWhy ?? say`Computing the curves…`;

function createScene(app: App): StoreScene {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('aria-hidden', 'true');
  const tip = h('div', { class: 'tip', hidden: true, role: 'presentation' });
  const scroller = h('div', { class: 'curves', tabindex: 0, role: 'application', 'aria-describedby': 'store-help' });
  setAttribute(scroller, 'aria-roledescription', say`curves`);
  scroller.append(svg, tip);
  return { app, scroller, svg, tip, model: null, view: null };
}

function drawModel(scene: StoreScene, model: StoreModel | null): void {
  const { app, scroller, svg } = scene;
  scene.model = model;
  setAttribute(scroller, 'aria-label', model ? say`Curves of ${model.title}: ${model.subtitle}` : emptyWords(app));
  if (scroller.clientWidth === 0) return;
  if (!model) return patch(svg, []);
  const view = viewOf(app, model, app.look(), Math.max(NARROWEST, scroller.clientWidth));
  scene.view = { ...view, height: scroller.clientHeight };
  const figure = drawStore(model, scene.view);
  svg.setAttribute('width', String(figure.width));
  svg.setAttribute('height', String(figure.height));
  patch(svg, figure.shapes);
}
