/** Pointer and wheel in the store panel: reading the curves, placing the cursors, moving the picture. */
import { chartAt, layoutStore } from '../../../server/core/diagram/store/svg';
import { roundStep } from '../../../server/core/diagram/kit/time-text';
import { setText } from '../dom';
import { fit, momentsOf, pan, placeCursor, wordsAt, zoom, type StoreScene } from './scene';

/** A press that moves less than this (px) is a click. */
const STILL = 4;
/** So near (px) a cursor goes to a moment of the run, unless Alt is held. */
const SNAP = 6;
/** Above this (px) are the numbers of strokes: there a drag moves the cursor, below it the picture. */
const RULER = 44;

interface Place {
  readonly x: number;
  readonly y: number;
  /** Moment of the run. */
  readonly t: number;
}

function placeOf({ model, view, svg }: StoreScene, event: MouseEvent): Place | null {
  if (!model || !view) return null;
  const box = svg.getBoundingClientRect();
  const layout = layoutStore(model, view);
  const [x, y] = [event.clientX - box.left, event.clientY - box.top];
  // No finer than the screen shows, and readable.
  const step = roundStep(Math.max(1, (view.to - view.from) / (layout.x1 - layout.x0)));
  const exact = Math.round(layout.time(Math.max(layout.x0, Math.min(layout.x1, x))) / step) * step;
  if (event.altKey) return { x, y, t: exact };
  const near = momentsOf(model).filter((m) => Math.abs(layout.x(m) - layout.x(exact)) < SNAP);
  near.sort((a, b) => Math.abs(a - exact) - Math.abs(b - exact));
  return { x, y, t: near[0] ?? exact };
}

export function listenToPointer(scene: StoreScene): void {
  listenToHover(scene);
  listenToDrags(scene);
  scene.scroller.addEventListener('dblclick', () => fit(scene));
  scene.scroller.addEventListener('wheel', (event) => turn(scene, event), { passive: false });
}

/** Reads off the curves of the chart under the pointer. */
function listenToHover(scene: StoreScene): void {
  const { app, scroller, tip } = scene;
  scroller.addEventListener('pointermove', (event) => {
    const { model, view } = scene;
    const place = event.buttons === 0 ? placeOf(scene, event) : null;
    const unit = model && view && place && chartAt(model, view, place.y);
    tip.hidden = !unit;
    if (!model || !place || !unit) return;
    setText(tip, wordsAt(app.session, model, unit, place.t));
    const bounds = scroller.getBoundingClientRect();
    const room = scroller.clientWidth - tip.offsetWidth - 8;
    tip.style.left = `${Math.max(4, Math.min(room, event.clientX - bounds.left + 12))}px`;
    tip.style.top = `${event.clientY - bounds.top + scroller.scrollTop + 18}px`;
  });
  scroller.addEventListener('pointerleave', () => {
    tip.hidden = true;
  });
}

function listenToDrags(scene: StoreScene): void {
  const { scroller } = scene;
  let drag: { x: number; moved: boolean; readonly what: 'time' | 'mark' | 'pan' } | null = null;
  const cursorTo = (event: MouseEvent, which: 'time' | 'mark'): void => {
    const place = placeOf(scene, event);
    if (place) placeCursor(scene, which, place.t);
  };
  scroller.addEventListener('pointerdown', (event) => {
    const place = event.button === 0 ? placeOf(scene, event) : null;
    if (!place) return;
    scene.tip.hidden = true;
    const what = place.y > RULER ? 'pan' : event.shiftKey ? 'mark' : 'time';
    drag = { x: event.clientX, moved: false, what };
    if (what !== 'pan') cursorTo(event, what);
  });
  scroller.addEventListener('pointermove', (event) => {
    if (!drag || event.buttons === 0 || (!drag.moved && Math.abs(event.clientX - drag.x) < STILL)) return;
    if (!drag.moved) scroller.setPointerCapture(event.pointerId);
    drag.moved = true;
    if (drag.what !== 'pan') return cursorTo(event, drag.what);
    pan(scene, (drag.x - event.clientX) / Math.max(1, scroller.clientWidth));
    drag.x = event.clientX;
  });
  scroller.addEventListener('click', (event) => {
    const was = drag;
    drag = null;
    if (was && !was.moved && was.what === 'pan') cursorTo(event, event.shiftKey ? 'mark' : 'time');
  });
}

/** Ctrl: zoom at the pointer. Shift: pan. Else the page scrolls. */
function turn(scene: StoreScene, event: WheelEvent): void {
  const place = placeOf(scene, event);
  if (!place || !(event.ctrlKey || event.metaKey || event.shiftKey)) return;
  event.preventDefault();
  if (event.shiftKey) return pan(scene, (event.deltaX || event.deltaY) / 800);
  zoom(scene, Math.exp(-event.deltaY / 300), place.t);
}
