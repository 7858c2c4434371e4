/** Pointer and wheel in the timing panel: lighting causes, going to the source, dragging the cursor and the picture. */
import type { TimingEdge } from '../../../server/core/diagram/timing/model';
import { setText } from '../dom';
import { STEP } from './hand';
import { fit, pan, pointed, zoom, type TimingScene } from './scene';

/** A press that moves less than this (px) is a click. */
const STILL = 4;

export function listenToPointer(scene: TimingScene): void {
  listenToHover(scene);
  listenToDrags(scene);
  listenToWheel(scene);
}

function listenToHover(scene: TimingScene): void {
  const { app, scroller, tip } = scene;
  scroller.addEventListener('pointermove', (event) => {
    if (event.buttons !== 0 || app.session.hand) return;
    const found = pointed(scene, event);
    showTip(scene, found?.words ?? '', event);
    const lit = found?.edge?.id ?? null;
    if (lit !== app.session.litEdge) app.set({ litEdge: lit });
  });
  scroller.addEventListener('pointerleave', () => {
    tip.hidden = true;
    const focused = document.activeElement?.getAttribute('data-edge') ?? null;
    if (app.session.litEdge !== focused) app.set({ litEdge: focused });
  });
  scroller.addEventListener('focusin', (event) => {
    const found = pointed(scene, event);
    if (!found?.edge) return;
    app.set({ litEdge: found.edge.id });
    if (!app.session.hand) app.say(found.words);
  });
  scroller.addEventListener('focusout', () => app.set({ litEdge: null }));
}

function showTip({ tip, scroller }: TimingScene, words: string, event: PointerEvent): void {
  tip.hidden = words === '';
  setText(tip, words);
  if (tip.hidden) return;
  const bounds = scroller.getBoundingClientRect();
  const room = scroller.clientWidth - tip.offsetWidth - 8;
  tip.style.left = `${Math.max(4, Math.min(room, event.clientX - bounds.left + 12))}px`;
  tip.style.top = `${event.clientY - bounds.top + scroller.scrollTop + 18}px`;
}

interface Drag {
  readonly what: 'cursor' | 'mark' | 'pan' | 'edge';
  /** The change that was pressed. */
  readonly edge: TimingEdge | null;
  x: number;
  moved: boolean;
}

function listenToDrags(scene: TimingScene): void {
  const { scroller, ruler } = scene;
  let drag: Drag | null = null;
  scroller.addEventListener('pointerdown', (event) => {
    if (event.button !== 0) return;
    const edge = pointed(scene, event)?.edge ?? null;
    const onRuler = ruler.contains(event.target as Node);
    const what = onRuler ? (event.shiftKey ? 'mark' : 'cursor') : edge ? 'edge' : 'pan';
    drag = { what, edge, x: event.clientX, moved: false };
    if (!onRuler) return;
    scroller.setPointerCapture(event.pointerId);
    cursorTo(scene, event, what === 'mark' ? 'mark' : 'time');
  });
  scroller.addEventListener('pointermove', (event) => {
    if (!drag || event.buttons === 0) return;
    if (!drag.moved && Math.abs(event.clientX - drag.x) < STILL) return;
    if (!drag.moved) {
      scroller.setPointerCapture(event.pointerId);
      if (drag.what === 'edge') takeByPointer(scene, drag.edge!);
    }
    drag.moved = true;
    if (drag.what === 'edge') return holdTo(scene, drag, event);
    if (drag.what !== 'pan') return cursorTo(scene, event, drag.what === 'mark' ? 'mark' : 'time');
    pan(scene, drag.x - event.clientX);
    drag.x = event.clientX;
  });
  scroller.addEventListener('pointerup', () => {
    if (drag?.moved && drag.what === 'edge' && scene.app.session.hand?.by === 'pointer') scene.hand.drop();
  });
  scroller.addEventListener('pointercancel', () => {
    if (scene.app.session.hand?.by === 'pointer') scene.hand.leave();
  });
  scroller.addEventListener('click', (event) => {
    const was = drag;
    drag = null;
    if (was && !was.moved && was.what !== 'cursor' && was.what !== 'mark') choose(scene, event);
  });
  scroller.addEventListener('dblclick', (event) => {
    if (!pointed(scene, event)?.edge) fit(scene);
  });
}

function xOf({ body }: TimingScene, event: MouseEvent): number {
  return event.clientX - body.getBoundingClientRect().left;
}

/** The keys of what is held are heard by the diagram. */
function takeByPointer(scene: TimingScene, edge: TimingEdge): void {
  scene.scroller.focus({ preventScroll: true });
  scene.tip.hidden = true;
  scene.hand.take(edge.id, 'pointer');
}

/** So near (px) what is dragged snaps: edges of other lanes for cursors, ends of requirements for an edge in the hand. */
const SNAP = 6;

/** The edge in the hand to where the pointer is, in whole steps from where it stood; it rests where a requirement ends. */
function holdTo({ app, layout, hand: hands }: TimingScene, { edge, x }: Drag, event: MouseEvent): void {
  const { hand } = app.session;
  if (!hand || !layout || hand.edge !== edge?.id) return;
  const at = layout.x(hand.from) + event.clientX - x;
  const stop = hand.stops.find((s) => Math.abs(layout.x(s.t) - at) <= SNAP);
  const steps = Math.round((layout.time(at) - hand.from) / STEP);
  hands.moveTo(stop?.t ?? Math.max(0, hand.from + steps * STEP));
}

function cursorTo(scene: TimingScene, event: MouseEvent, which: 'time' | 'mark'): void {
  const { app, layout } = scene;
  const model = app.timing();
  if (!model || !layout) return;
  const x = Math.max(layout.x0, Math.min(layout.x1, xOf(scene, event)));
  const exact = Math.max(Math.min(0, model.start), Math.min(model.end, layout.time(x)));
  const t = event.altKey ? exact : snapped(scene, exact);
  app.view({ [which]: t });
}

/** The moment of the nearest change, where one is near enough; Alt leaves the cursor where it is. */
function snapped({ app, layout }: TimingScene, t: number): number {
  if (!layout) return t;
  let best = t;
  let least = SNAP;
  for (const { edges } of app.timing()?.lanes ?? [])
    for (const edge of edges) {
      const distance = Math.abs(layout.x(edge.t) - layout.x(t));
      if (distance < least) [best, least] = [edge.t, distance];
    }
  return best;
}

/** A click: lights the lane, puts the time cursor on a change, goes to the source. */
function choose(scene: TimingScene, event: MouseEvent): void {
  const found = pointed(scene, event);
  if (!found) return;
  const time = found.edge ? { time: found.edge.t } : {};
  const lane = found.lane ? { lane: found.lane } : {};
  scene.app.view({ ...time, ...lane });
  scene.app.reveal(found.source, true);
}

/** Ctrl, or over the ruler: zoom at the pointer. Shift or sideways: pan. Else the page scrolls. */
function listenToWheel(scene: TimingScene): void {
  const wheel = (event: WheelEvent) => {
    const onRuler = scene.ruler.contains(event.target as Node);
    if (event.ctrlKey || event.metaKey || onRuler) {
      event.preventDefault();
      zoom(scene, Math.exp(-event.deltaY / 300), scene.layout?.time(xOf(scene, event)));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      pan(scene, event.deltaX || event.deltaY);
    }
  };
  scene.scroller.addEventListener('wheel', wheel, { passive: false });
}
