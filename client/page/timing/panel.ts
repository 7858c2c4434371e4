/** The timing panel: draws the diagram; pointer and keyboard are in files of their own. */
import { say } from '../../../server/core/words/say';
import { edgeIndex } from '../../../server/core/diagram/timing/causes';
import type { HeldEdge, TimingView } from '../../../server/core/diagram/timing/layout';
import type { TimingModel } from '../../../server/core/diagram/timing/model';
import { drawTiming, pictureName } from '../../../server/core/diagram/timing/svg';
import type { App } from '../app';
import { h, setAttribute, setText } from '../dom';
import { patch } from '../patch';
import { shownReadings } from '../session';
import type { Hand } from './hand';
import { keyHelp, listenToKeys, stepTime } from './keys';
import { listenToPointer } from './pointer';
import { actualSize, fit, placeCursor, rangeOf, zoom, type TimingScene } from './scene';

/** What every panel can do. */
export interface Panel {
  readonly element: HTMLElement;
  draw(): void;
  fit(): void;
  actualSize(): void;
  zoom(factor: number): void;
}

export interface TimingPanel extends Panel {
  /** Lights a lane and brings it into sight, only if it is out of sight. */
  showLane(id: string): void;
  /** Brings the time cursor to a moment, in sight. */
  goTo(t: number): void;
  /** Moves the time cursor to the next (1) or previous (-1) moment at which anything changes. */
  step(direction: 1 | -1): void;
}

/** Above this number of lanes only those in sight are drawn, with some px above and below. */
const MANY_LANES = 40;
const BEYOND_SIGHT = 300;
const NARROWEST = 260;

export function createTimingPanel(app: App, hand: Hand): TimingPanel {
  const scene = createScene(app, hand);
  const notes = h('p', { class: 'notes' });
  const help = h('p', { class: 'unseen', id: 'timing-help' }, keyHelp());
  const element = h('div', { class: 'panel-timing' }, help, notes, scene.scroller);
  let isFirst = true;

  function draw(): void {
    const model = app.timing();
    setText(notes, model ? model.notes.join(' ') : '');
    notes.hidden = !model || model.notes.length === 0;
    if (!model || scene.scroller.clientWidth === 0) return;
    drawModel(scene, model);
    if (isFirst && app.session.view.scroll) scene.scroller.scrollTop = app.session.view.scroll;
    isFirst = false;
    focusWanted(scene);
  }

  listenToPointer(scene);
  listenToKeys(scene);
  scene.scroller.addEventListener('scroll', () => app.timing() && app.view({ scroll: scene.scroller.scrollTop }));
  new ResizeObserver(draw).observe(scene.scroller);
  return {
    element,
    draw,
    fit: () => fit(scene),
    actualSize: () => actualSize(scene),
    zoom: (factor) => zoom(scene, factor),
    goTo: (t) => placeCursor(scene, t),
    step: (direction) => stepTime(scene, direction),
    showLane: (id) => showLane(scene, id),
  };
}

function createScene(app: App, hand: Hand): TimingScene {
  const [ruler, body] = [svgElement('ruler'), svgElement('body')];
  const tip = h('div', { class: 'tip', hidden: true, role: 'presentation' });
  const scroller = h('div', {
    class: 'timing',
    tabindex: 0,
    role: 'application',
    'aria-roledescription': say`timing diagram`,
    'aria-describedby': 'timing-help',
  });
  scroller.append(ruler, body, tip);
  return { app, hand, scroller, ruler, body, tip, layout: null, wanted: null };
}

function svgElement(name: string): SVGSVGElement {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('class', name);
  return svg;
}

function viewOf({ app, scroller }: TimingScene, model: TimingModel): TimingView {
  const { view, litEdge } = app.session;
  const { scrollTop, clientHeight, clientWidth } = scroller;
  const sight = { top: scrollTop - BEYOND_SIGHT, bottom: scrollTop + clientHeight + BEYOND_SIGHT };
  return {
    width: Math.max(NARROWEST, clientWidth),
    ...rangeOf(app, model),
    look: app.look(),
    purpose: 'page',
    idPrefix: 'timing-',
    litLane: view.lane ?? null,
    litEdge,
    time: view.time ?? null,
    mark: view.mark ?? null,
    hand: heldEdge(app),
    second: app.second(),
    readings: shownReadings(app.session),
    ...(model.lanes.length > MANY_LANES ? { sight } : {}),
  };
}

/** The edge in the hand as it stands now, for the drawing. */
function heldEdge(app: App): HeldEdge | null {
  const { hand } = app.session;
  const lane = hand && edgeIndex(app.timing()?.lanes ?? []).get(hand.edge)?.lane;
  if (!hand || !lane) return null;
  return { edge: hand.edge, lane, from: hand.from, t: hand.moved?.t ?? hand.from, stops: hand.stops };
}

function drawModel(scene: TimingScene, model: TimingModel): void {
  const { scroller, ruler, body } = scene;
  const { layout, defs, ruler: rulerPart, body: bodyPart } = drawTiming(model, viewOf(scene, model));
  scene.layout = layout;
  setAttribute(scroller, 'aria-label', pictureName(model));
  setSize(ruler, layout.width, layout.rulerHeight);
  setSize(body, layout.width, layout.bodyHeight);
  patch(ruler, [rulerPart]);
  patch(body, [defs, bodyPart]);
}

function setSize(svg: SVGSVGElement, width: number, height: number): void {
  if (svg.getAttribute('width') !== String(width)) svg.setAttribute('width', String(width));
  if (svg.getAttribute('height') !== String(height)) svg.setAttribute('height', String(height));
}

/** Gives the focus to the change that was gone to, now that it is drawn. */
function focusWanted(scene: TimingScene): void {
  const { wanted, body } = scene;
  scene.wanted = null;
  const target = wanted === null ? null : body.querySelector<SVGElement>(`[data-edge="${CSS.escape(wanted)}"]`);
  if (!target) return;
  target.focus({ preventScroll: true });
  target.scrollIntoView({ block: 'nearest', inline: 'nearest' });
}

function showLane({ app, layout, scroller }: TimingScene, id: string): void {
  app.view({ lane: id });
  const row = layout && [...layout.doors, ...layout.logic].find((r) => r.lane.id === id);
  if (!row || !layout) return;
  const top = layout.rulerHeight + row.y;
  const [from, to] = [scroller.scrollTop + layout.rulerHeight, scroller.scrollTop + scroller.clientHeight];
  if (top < from || top + row.height > to) scroller.scrollTop = top - scroller.clientHeight / 2;
}
