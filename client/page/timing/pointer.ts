/** Pointer and wheel in the timing panel: lighting causes, going to the source, dragging the cursor and the picture. */
import { setText } from '../dom';
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
    if (event.buttons !== 0) return;
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
    app.say(found.words);
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
  readonly what: 'cursor' | 'pan';
  x: number;
  moved: boolean;
}

function listenToDrags(scene: TimingScene): void {
  const { scroller, ruler } = scene;
  let drag: Drag | null = null;
  scroller.addEventListener('pointerdown', (event) => {
    if (event.button !== 0) return;
    const what = ruler.contains(event.target as Node) ? 'cursor' : 'pan';
    drag = { what, x: event.clientX, moved: false };
    if (what === 'pan') return;
    scroller.setPointerCapture(event.pointerId);
    cursorTo(scene, event);
  });
  scroller.addEventListener('pointermove', (event) => {
    if (!drag || event.buttons === 0) return;
    if (!drag.moved && Math.abs(event.clientX - drag.x) < STILL) return;
    if (!drag.moved) scroller.setPointerCapture(event.pointerId);
    drag.moved = true;
    if (drag.what === 'cursor') return cursorTo(scene, event);
    pan(scene, drag.x - event.clientX);
    drag.x = event.clientX;
  });
  scroller.addEventListener('click', (event) => {
    const was = drag;
    drag = null;
    if (!was?.moved && was?.what !== 'cursor') choose(scene, event);
  });
  scroller.addEventListener('dblclick', (event) => {
    if (!pointed(scene, event)?.edge) fit(scene);
  });
}

function xOf({ body }: TimingScene, event: MouseEvent): number {
  return event.clientX - body.getBoundingClientRect().left;
}

function cursorTo(scene: TimingScene, event: MouseEvent): void {
  const { app, layout } = scene;
  const model = app.timing();
  if (!model || !layout) return;
  const x = Math.max(layout.x0, Math.min(layout.x1, xOf(scene, event)));
  app.view({ time: Math.max(0, Math.min(model.end, layout.time(x))) });
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
