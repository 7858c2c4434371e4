/** A panel that shows one figure, zoomed and panned as a whole: the section and the wiring. */
import { say } from '../../server/core/words/say';
import type { Figure, Shape } from '../../server/core/diagram/kit/shape';
import { shape } from '../../server/core/diagram/kit/shape';
import type { Source } from '../../server/protocol/preview';
import type { App } from './app';
import { h, hit } from './dom';
import { patch } from './patch';
import type { Panel } from './timing/panel';

export interface StageContent {
  readonly tab: 'section' | 'wiring';
  /** For screen readers: what this is, in a sentence. */
  readonly label: (app: App) => string;
  /** The figure now, for a panel of this width in px; null where there is nothing to show. */
  readonly figure: (app: App, width: number) => Figure | null;
  /** Scale at which its smallest text is 10 px high: what does not fit at it is panned. */
  readonly least: number;
  /** Where the element with this id comes from. */
  readonly source: (app: App, id: string) => Source | null;
}

interface Place {
  readonly zoom: number;
  readonly x: number;
  readonly y: number;
}

const [SMALLEST, LARGEST] = [0.1, 12];
const KEY_PAN = 60;
/** This much of a figure, px, never leaves its panel. */
const SEEN = 60;

/** The figure's place in its panel, and the ways to move it. */
interface Ground {
  readonly place: () => Place;
  readonly zoomAt: (factor: number, x: number, y: number) => void;
  readonly zoom: (factor: number) => void;
  readonly pan: (dx: number, dy: number) => void;
  /** Moves what is out of sight into it; false where nothing is, that way. */
  readonly turn: (dx: number, dy: number) => boolean;
  readonly fit: () => void;
  readonly actualSize: () => void;
}

export function createStage(app: App, content: StageContent): Panel {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  const element = h('div', { class: `stage stage-${content.tab}`, tabindex: 0, role: 'group' });
  element.append(svg);
  let natural = { width: 1, height: 1 };
  const ground = createGround(app, content, element, () => natural);
  const { place, fit, actualSize, zoom } = ground;

  function draw(): void {
    if (element.clientWidth === 0) return;
    const figure = content.figure(app, element.clientWidth);
    element.setAttribute('aria-label', say`${content.label(app)}. Enter goes into the picture, Escape out of it.`);
    if (!figure) return patch(svg, []);
    natural = figure;
    const { zoom, x, y } = place();
    svg.setAttribute('width', String(element.clientWidth));
    svg.setAttribute('height', String(element.clientHeight));
    const inner: Shape = shape(
      'g',
      'place',
      { transform: `translate(${x.toFixed(2)} ${y.toFixed(2)}) scale(${zoom.toFixed(4)})` },
      figure.shapes,
    );
    patch(svg, [inner]);
  }
  function reveal(event: Event): void {
    const id = hit(event, 'data-id')?.value;
    if (id !== undefined) app.reveal(content.source(app, id), true);
  }

  listenToPointer(element, ground, reveal);
  listenToKeys(element, svg, ground, reveal);
  new ResizeObserver(draw).observe(element);
  return { element, draw, fit, actualSize, zoom };
}

function createGround(
  app: App,
  { tab, least }: Pick<StageContent, 'tab' | 'least'>,
  element: HTMLElement,
  natural: () => { readonly width: number; readonly height: number },
): Ground {
  /** Whole figure in the middle, where it can be read like that, else its beginning; never larger than one and a half times its natural size. */
  function fitted(): Place {
    const [width, height] = [element.clientWidth, element.clientHeight];
    const size = natural();
    const zoom = Math.max(least, Math.min(1.5, width / size.width, height / size.height));
    const start = (room: number, length: number): number => Math.max(0, (room - length * zoom) / 2);
    return { zoom, x: start(width, size.width), y: start(height, size.height) };
  }
  /** Some of the figure is always in sight, also after it was laid out in another way. */
  function inSight({ zoom, x, y }: Place): Place {
    const { width, height } = natural();
    const held = (at: number, room: number, length: number): number =>
      Math.min(room - SEEN, Math.max(SEEN - length * zoom, at));
    return { zoom, x: held(x, element.clientWidth, width), y: held(y, element.clientHeight, height) };
  }
  const place = (): Place => {
    const kept = app.session.view[tab];
    return kept ? inSight(kept) : fitted();
  };
  const put = (next: Place | undefined) => app.view({ [tab]: next && inSight(next) });

  function zoomAt(factor: number, x: number, y: number): void {
    const now = place();
    const zoom = Math.max(SMALLEST, Math.min(LARGEST, now.zoom * factor));
    const ratio = zoom / now.zoom;
    put({ zoom, x: x - (x - now.x) * ratio, y: y - (y - now.y) * ratio });
  }
  const zoom = (factor: number) => zoomAt(factor, element.clientWidth / 2, element.clientHeight / 2);
  return {
    place,
    zoomAt,
    zoom,
    pan: (dx, dy) => put({ ...place(), x: place().x + dx, y: place().y + dy }),
    turn(dx, dy) {
      const now = place();
      const { width, height } = natural();
      const x = turned(now.x, dx, element.clientWidth, width * now.zoom);
      const y = turned(now.y, dy, element.clientHeight, height * now.zoom);
      if (x === now.x && y === now.y) return false;
      put({ ...now, x, y });
      return true;
    },
    fit: () => put(undefined),
    actualSize: () => zoom(1 / place().zoom),
  };
}

/** Where a length stands after it was moved by `by`, never further than its far end is in sight; it stays where it fits as a whole. */
function turned(at: number, by: number, room: number, length: number): number {
  const [low, high] = [Math.min(at, room - length), Math.max(at, 0)];
  return length <= room && at >= 0 && at + length <= room ? at : Math.min(high, Math.max(low, at + by));
}

/** Drag, click, double click and wheel. */
function listenToPointer(
  element: HTMLElement,
  { pan, fit, zoomAt, turn }: Ground,
  reveal: (event: Event) => void,
): void {
  let drag: { x: number; y: number; moved: boolean } | null = null;
  element.addEventListener('pointerdown', (event) => {
    if (event.button === 0) drag = { x: event.clientX, y: event.clientY, moved: false };
  });
  element.addEventListener('pointermove', (event) => {
    if (!drag || event.buttons === 0) return;
    const [dx, dy] = [event.clientX - drag.x, event.clientY - drag.y];
    if (!drag.moved && Math.hypot(dx, dy) < 4) return;
    if (!drag.moved) element.setPointerCapture(event.pointerId);
    drag = { x: event.clientX, y: event.clientY, moved: true };
    pan(dx, dy);
  });
  element.addEventListener('click', (event) => {
    const moved = drag?.moved;
    drag = null;
    if (!moved) reveal(event);
  });
  element.addEventListener('dblclick', (event) => {
    if (!hit(event, 'data-id')) fit();
  });
  // As in the other pictures: alone it goes along the picture, with Ctrl it zooms at the pointer.
  element.addEventListener(
    'wheel',
    (event) => {
      if (event.ctrlKey || event.metaKey) {
        event.preventDefault();
        const bounds = element.getBoundingClientRect();
        return zoomAt(Math.exp(-event.deltaY / 400), event.clientX - bounds.left, event.clientY - bounds.top);
      }
      const sideways = event.shiftKey && event.deltaX === 0;
      if (sideways ? turn(-event.deltaY, 0) : turn(-event.deltaX, -event.deltaY)) event.preventDefault();
    },
    { passive: false },
  );
}

/** Focus and keys: arrows, Enter and Escape, the zoom. */
function listenToKeys(
  element: HTMLElement,
  svg: SVGElement,
  { pan, fit, zoom, actualSize }: Ground,
  reveal: (event: Event) => void,
): void {
  /** Elements that can be gone to, in order of drawing. */
  const elements = () => [...svg.querySelectorAll<SVGElement>('[data-id][role="button"]')];

  /** Moves the picture so that an element that got the focus is in sight. */
  function bringIn(focused: Element): void {
    const [box, frame] = [focused.getBoundingClientRect(), element.getBoundingClientRect()];
    const away = (low: number, high: number, from: number, to: number): number =>
      low < from ? from - low + 20 : high > to ? to - high - 20 : 0;
    const dx = away(box.left, box.right, frame.left, frame.right);
    const dy = away(box.top, box.bottom, frame.top, frame.bottom);
    if (dx !== 0 || dy !== 0) pan(dx, dy);
  }
  element.addEventListener('focusin', (event) => {
    if (event.target !== element) bringIn(event.target as Element);
  });

  /** From one element to the next (1) or the one before (-1); from outside to the first or the last. */
  function goTo(direction: 1 | -1): void {
    const all = elements();
    const here = all.findIndex((t) => t === document.activeElement);
    const next = here < 0 ? (direction === 1 ? 0 : all.length - 1) : here + direction;
    all[next]?.focus();
  }

  /** Arrows go from element to element once one of them has the focus; before that they move the picture. */
  const arrow = (direction: 1 | -1, dx: number, dy: number) => () =>
    document.activeElement === element ? pan(dx, dy) : goTo(direction);

  const KEYS: Record<string, () => void> = {
    '+': () => zoom(1.25),
    '=': () => zoom(1.25),
    '-': () => zoom(0.8),
    f: fit,
    '1': actualSize,
    ArrowUp: arrow(-1, 0, KEY_PAN),
    ArrowDown: arrow(1, 0, -KEY_PAN),
    ArrowLeft: arrow(-1, KEY_PAN, 0),
    ArrowRight: arrow(1, -KEY_PAN, 0),
    Escape: () => element.focus(),
  };
  element.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === 'Enter') return event.target === element ? goTo(1) : reveal(event);
    const act = KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
}
