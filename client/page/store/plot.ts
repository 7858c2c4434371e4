/** A plot of one stroke in the store panel: read by pointing and by keys, point by point along its curves. */
import type { PlotModel } from '../../../server/core/diagram/store/plot-model';
import {
  drawPlot,
  layoutPlot,
  nearestPlace,
  placeText,
  type PlotPlace,
  type PlotView,
} from '../../../server/core/diagram/store/plot-svg';
import { say } from '../../../server/core/words/say';
import type { App } from '../app';
import { h, setAttribute, setText } from '../dom';
import { patch } from '../patch';

const NARROWEST = 280;

/** For screen readers. */
const plotHelp = (): string =>
  say`Left and right arrow go along a curve and read out its points, up and down to the next curve, Escape clears.`;

export interface PlotPanel {
  readonly element: HTMLElement;
  draw(model: PlotModel): void;
}

interface PlotScene extends PlotPanel {
  readonly app: App;
  readonly svg: SVGSVGElement;
  readonly tip: HTMLElement;
  model: PlotModel | null;
  view: PlotView | null;
  /** What is read out; of this visit only. */
  at: PlotPlace | null;
}

export function createPlotPanel(app: App): PlotPanel {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('aria-hidden', 'true');
  const tip = h('div', { class: 'tip', hidden: true, role: 'presentation' });
  const help = h('p', { class: 'unseen', id: 'plot-help' }, plotHelp());
  const element = h('div', { class: 'plot', tabindex: 0, role: 'application', 'aria-describedby': 'plot-help' });
  setAttribute(element, 'aria-roledescription', say`plot`);
  element.append(help, svg, tip);
  const scene: PlotScene = {
    app,
    element,
    svg,
    tip,
    model: null,
    view: null,
    at: null,
    draw: (model) => drawModel(scene, model),
  };
  listenToPointer(scene);
  element.addEventListener('keydown', (event) => {
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act(scene);
  });
  new ResizeObserver(() => scene.model && scene.draw(scene.model)).observe(element);
  return scene;
}

function drawModel(scene: PlotScene, model: PlotModel): void {
  const { app, element, svg } = scene;
  if (scene.model?.id !== model.id) scene.at = null;
  scene.model = model;
  setAttribute(element, 'aria-label', `${model.title}: ${model.sentence}`);
  if (element.clientWidth === 0) return;
  const size = { width: Math.max(NARROWEST, element.clientWidth), height: element.clientHeight };
  scene.view = { look: app.look(), ...size, idPrefix: 'plot-', at: scene.at };
  const figure = drawPlot(model, scene.view);
  svg.setAttribute('width', String(figure.width));
  svg.setAttribute('height', String(figure.height));
  patch(svg, figure.shapes);
}

function listenToPointer(scene: PlotScene): void {
  const { element, svg, tip } = scene;
  element.addEventListener('pointermove', (event) => {
    const { model, view } = scene;
    if (!model || !view) return;
    const box = svg.getBoundingClientRect();
    const place = nearestPlace(model, layoutPlot(model, view), {
      x: event.clientX - box.left,
      y: event.clientY - box.top,
    });
    tip.hidden = place === null;
    scene.at = place;
    scene.draw(model);
    if (!place) return;
    setText(tip, placeText(model, place));
    const bounds = element.getBoundingClientRect();
    const room = element.clientWidth - tip.offsetWidth - 8;
    tip.style.left = `${Math.max(4, Math.min(room, event.clientX - bounds.left + 12))}px`;
    tip.style.top = `${event.clientY - bounds.top + element.scrollTop + 18}px`;
  });
  element.addEventListener('pointerleave', () => {
    tip.hidden = true;
    goTo(scene, null);
  });
}

function goTo(scene: PlotScene, place: PlotPlace | null): void {
  const { model, app } = scene;
  if (!model) return;
  scene.at = place;
  scene.draw(model);
  if (place) app.say(placeText(model, place));
}

/** Along the curve, or to the same part of the next one. */
function move(scene: PlotScene, along: number, across: number): void {
  const curves = scene.model?.curves ?? [];
  if (curves.length === 0) return;
  const { curve, point } = scene.at ?? { curve: 0, point: -along };
  const next = (curve + across + curves.length) % curves.length;
  const [here, there] = [curves[curve]!.points.length, curves[next]!.points.length];
  const same = next === curve ? point : Math.round((point / here) * there);
  goTo(scene, { curve: next, point: Math.max(0, Math.min(there - 1, same + along)) });
}

const KEYS: Readonly<Record<string, (scene: PlotScene) => void>> = {
  ArrowRight: (scene) => move(scene, 1, 0),
  ArrowLeft: (scene) => move(scene, -1, 0),
  ArrowDown: (scene) => move(scene, 0, 1),
  ArrowUp: (scene) => move(scene, 0, -1),
  Escape: (scene) => goTo(scene, null),
};
