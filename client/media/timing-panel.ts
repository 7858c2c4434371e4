/** The timing panel: draws the diagram, and what pointer, wheel and keyboard do in it. */
import { changesOf, lastAt } from '../../server/core/diagram/state';
import { becauseText, chainOf, edgeIndex } from '../../server/core/diagram/timing-causes';
import { timeText } from '../../server/core/diagram/time-text';
import type { TimingLayout, TimingView } from '../../server/core/diagram/timing-layout';
import type { Band, Lane, PairMark, TimingEdge, TimingModel } from '../../server/core/diagram/timing-model';
import { drawTiming, description, safeRange } from '../../server/core/diagram/timing-svg';
import type { App } from './app';
import { h, hit, setText } from './dom';
import { patch } from './patch';
import { bringIn, shifted, within, zoomed, type Range } from './range';

/** What every panel can do. */
export interface Panel {
  readonly element: HTMLElement;
  draw(): void;
  fit(): void;
  actualSize(): void;
  zoom(factor: number): void;
}

export interface TimingPanel extends Panel {
  /** Shows the whole record. */
  fitAll(): void;
  /** Lights a lane and brings it into sight, only if it is out of sight. */
  showLane(id: string): void;
  /** Moves the time cursor to the next (1) or previous (-1) moment at which anything changes. */
  step(direction: 1 | -1): void;
}

/** At 100 % one second is this wide. */
export const PX_PER_SECOND = 100;
/** Above so many lanes only those in sight are drawn. */
const MANY_LANES = 40;

const svgElement = (name: string) => {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('class', name);
  return svg;
};

export function createTimingPanel(app: App): TimingPanel {
  const ruler = svgElement('ruler');
  const body = svgElement('body');
  const tip = h('div', { class: 'tip', hidden: true, role: 'presentation' });
  const help = h('p', { class: 'unseen', id: 'timing-help' }, HELP);
  const notes = h('p', { class: 'notes' });
  const scroller = h('div', {
    class: 'timing',
    tabindex: 0,
    role: 'application',
    'aria-roledescription': 'timing diagram',
    'aria-describedby': 'timing-help',
  });
  scroller.append(ruler, body, tip);
  const element = h('div', { class: 'panel-timing' }, help, notes, scroller);
  let layout: TimingLayout | null = null;
  let shown: TimingModel | null = null;
  let focusWanted: string | null = null;

  // ------------------------------------------------------------ drawing

  function range(model: TimingModel): Range {
    const { from, to } = app.session.view;
    return safeRange(from !== undefined && to !== undefined ? { from, to } : model.home);
  }

  function viewOf(model: TimingModel): TimingView {
    const { view, litEdge } = app.session;
    const many = model.lanes.length > MANY_LANES;
    const top = scroller.scrollTop;
    return {
      width: Math.max(260, scroller.clientWidth),
      ...range(model),
      look: app.look(),
      purpose: 'page',
      idPrefix: 'timing-',
      litLane: view.lane ?? null,
      litEdge,
      time: view.time ?? null,
      second: app.second(),
      ...(many ? { sight: { top: top - 300, bottom: top + scroller.clientHeight + 300 } } : {}),
    };
  }

  function draw(): void {
    const model = app.timing();
    scroller.hidden = model === null;
    setText(notes, model ? model.notes.join(' ') : '');
    notes.hidden = !model || model.notes.length === 0;
    if (!model || scroller.clientWidth === 0) return;
    const first = shown === null;
    shown = model;
    const picture = drawTiming(model, viewOf(model));
    layout = picture.layout;
    scroller.setAttribute('aria-label', description(model));
    size(ruler, layout.width, layout.rulerHeight);
    size(body, layout.width, layout.bodyHeight);
    patch(ruler, [picture.ruler]);
    patch(body, [picture.defs, picture.body]);
    if (first && app.session.view.scroll) scroller.scrollTop = app.session.view.scroll;
    if (focusWanted) focusEdge(focusWanted);
  }

  function focusEdge(id: string): void {
    focusWanted = null;
    const target = body.querySelector<SVGElement>(`[data-edge="${CSS.escape(id)}"]`);
    if (!target) return;
    target.focus({ preventScroll: true });
    target.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  }

  // ------------------------------------------------------------ time

  function setRange(next: Range): void {
    const model = app.timing();
    if (!model) return;
    app.view(within(next, { from: model.start, to: model.end }));
  }

  function zoom(factor: number, at?: number): void {
    const model = app.timing();
    if (!model) return;
    const now = range(model);
    const centre = at ?? app.session.view.time ?? (now.from + now.to) / 2;
    const inside = centre >= now.from && centre <= now.to ? centre : (now.from + now.to) / 2;
    setRange(zoomed(now, factor, inside));
  }

  function pan(px: number): void {
    const model = app.timing();
    if (!model || !layout) return;
    const now = range(model);
    setRange(shifted(now, (px * (now.to - now.from)) / (layout.x1 - layout.x0)));
  }

  function actualSize(): void {
    const model = app.timing();
    if (!model || !layout) return;
    const now = range(model);
    const span = ((layout.x1 - layout.x0) / PX_PER_SECOND) * 1_000_000;
    setRange({ from: now.from, to: now.from + span });
  }

  function fit(): void {
    app.view({ from: undefined, to: undefined });
  }

  function fitAll(): void {
    const model = app.timing();
    if (!model) return;
    const margin = Math.max(1, Math.round((model.end - model.start) * 0.02));
    setRange({ from: model.start - margin, to: model.end + margin });
  }

  function xOf(event: MouseEvent): number {
    return event.clientX - body.getBoundingClientRect().left;
  }

  function placeCursor(event: MouseEvent): void {
    const model = app.timing();
    if (!model || !layout) return;
    const x = Math.max(layout.x0, Math.min(layout.x1, xOf(event)));
    app.view({ time: Math.max(0, Math.min(model.end, layout.time(x))) });
  }

  // ------------------------------------------------------------ finding

  const edgeById = (id: string): TimingEdge | undefined => edgeIndex(app.timing()?.lanes ?? []).get(id);
  const laneById = (id: string): Lane | undefined => app.timing()?.lanes.find((l) => l.id === id);
  const markById = (id: string): PairMark | undefined => app.timing()?.marks.find((m) => m.id === id);
  const bandById = (id: string): Band | undefined => app.timing()?.bands.find((b) => b.id === id);

  /** What an event is at: something with words and perhaps a source. */
  function pointed(event: Event): { words: string; source: TimingEdge['source']; edge: TimingEdge | null } | null {
    const edge = edgeById(hit(event, 'data-edge')?.value ?? '');
    if (edge) return { words: edgeWords(app.timing()!.lanes, edge), source: edge.source, edge };
    const mark = markById(hit(event, 'data-mark')?.value ?? '');
    if (mark) return { words: mark.text, source: mark.source, edge: null };
    const band = bandById(hit(event, 'data-band')?.value ?? '');
    if (band) return { words: band.label, source: band.source, edge: null };
    const lane = laneById(hit(event, 'data-lane')?.value ?? '');
    return lane ? { words: '', source: lane.source, edge: null } : null;
  }

  // ------------------------------------------------------------ pointing

  function showTip(words: string, x: number, y: number): void {
    tip.hidden = words === '';
    setText(tip, words);
    if (tip.hidden) return;
    const bounds = scroller.getBoundingClientRect();
    const room = scroller.clientWidth - tip.offsetWidth - 8;
    tip.style.left = `${Math.max(4, Math.min(room, x - bounds.left + 12))}px`;
    tip.style.top = `${y - bounds.top + scroller.scrollTop + 18}px`;
  }

  scroller.addEventListener('pointermove', (event) => {
    if (dragging) return;
    const found = pointed(event);
    showTip(found?.words ?? '', event.clientX, event.clientY);
    const lit = found?.edge?.id ?? null;
    if (lit !== app.session.litEdge) app.set({ litEdge: lit });
  });
  scroller.addEventListener('pointerleave', () => {
    tip.hidden = true;
    if (!scroller.contains(document.activeElement) || document.activeElement === scroller) app.set({ litEdge: null });
  });
  scroller.addEventListener('focusin', (event) => {
    const found = pointed(event);
    if (!found?.edge) return;
    app.set({ litEdge: found.edge.id });
    app.say(found.words);
  });
  scroller.addEventListener('focusout', () => app.set({ litEdge: null }));

  // ------------------------------------------------------------ dragging and clicking

  let dragging: { x: number; moved: boolean; what: 'cursor' | 'pan' } | null = null;

  scroller.addEventListener('pointerdown', (event) => {
    if (event.button !== 0) return;
    const onRuler = ruler.contains(event.target as Node);
    dragging = { x: event.clientX, moved: false, what: onRuler ? 'cursor' : 'pan' };
    if (onRuler) {
      scroller.setPointerCapture(event.pointerId);
      placeCursor(event);
    }
  });
  scroller.addEventListener('pointermove', (event) => {
    if (!dragging || event.buttons === 0) return;
    if (!dragging.moved && Math.abs(event.clientX - dragging.x) < 4) return;
    if (!dragging.moved) scroller.setPointerCapture(event.pointerId);
    dragging.moved = true;
    if (dragging.what === 'cursor') return placeCursor(event);
    pan(dragging.x - event.clientX);
    dragging.x = event.clientX;
  });
  scroller.addEventListener('pointerup', () => {
    // The click that follows still has to know that this was a drag.
    const was = dragging;
    setTimeout(() => {
      if (dragging === was) dragging = null;
    });
  });
  scroller.addEventListener('click', (event) => {
    if (dragging?.moved || dragging?.what === 'cursor') return;
    const found = pointed(event);
    if (!found) return;
    const lane = found.edge?.lane ?? hit(event, 'data-lane')?.value;
    app.view({ ...(found.edge ? { time: found.edge.t } : {}), ...(lane ? { lane } : {}) });
    app.reveal(found.source, true);
  });
  scroller.addEventListener('dblclick', (event) => {
    if (!pointed(event)?.edge) fit();
  });
  scroller.addEventListener(
    'wheel',
    (event) => {
      const onRuler = ruler.contains(event.target as Node);
      if (event.ctrlKey || event.metaKey || onRuler) {
        event.preventDefault();
        zoom(Math.exp(-event.deltaY / 300), layout?.time(xOf(event)));
      } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
        event.preventDefault();
        pan(event.deltaX || event.deltaY);
      }
    },
    { passive: false },
  );
  scroller.addEventListener('scroll', () => {
    if (app.timing()) app.view({ scroll: scroller.scrollTop });
  });

  // ------------------------------------------------------------ keyboard

  function goTo(edge: TimingEdge): void {
    const model = app.timing();
    if (!model) return;
    focusWanted = edge.id;
    app.view({ time: edge.t, ...within(bringIn(range(model), edge.t), { from: model.start, to: model.end }) });
  }

  /** The focused or lit change, else the last one at or before the time cursor. */
  function place(changes: readonly TimingEdge[]): number {
    const focused = focusWanted ?? document.activeElement?.getAttribute('data-edge') ?? app.session.litEdge;
    const index = changes.findIndex((e) => e.id === focused);
    if (index >= 0) return index;
    const { time } = app.session.view;
    if (time === undefined) return -1;
    return lastAt(changes, time);
  }

  function step(direction: 1 | -1): void {
    const changes = changesOf(app.timing()?.lanes ?? []);
    const next = changes[place(changes) + direction];
    if (next) goTo(next);
  }

  function stepTime(direction: 1 | -1): void {
    const model = app.timing();
    if (!model) return;
    const changes = changesOf(model.lanes);
    const time = app.session.view.time ?? -1;
    const next = direction === 1 ? changes.find((e) => e.t > time) : changes[lastAt(changes, time - 1)];
    if (next)
      app.view({ time: next.t, ...within(bringIn(range(model), next.t), { from: model.start, to: model.end }) });
  }

  /** The nearest change on the lane above (-1) or below (1) that has one. */
  function stepLane(direction: 1 | -1): void {
    const lanes = app.timing()?.lanes ?? [];
    const focused = focusWanted ?? document.activeElement?.getAttribute('data-edge');
    const edge = focused ? edgeById(focused) : undefined;
    let k = edge ? lanes.findIndex((l) => l.id === edge.lane) + direction : direction === 1 ? 0 : lanes.length - 1;
    while (lanes[k] && lanes[k]!.edges.length === 0) k += direction;
    const t = edge?.t ?? app.session.view.time ?? 0;
    const nearest = [...(lanes[k]?.edges ?? [])].sort((a, b) => Math.abs(a.t - t) - Math.abs(b.t - t))[0];
    if (nearest) goTo(nearest);
  }

  function ends(which: 'first' | 'last'): void {
    const changes = changesOf(app.timing()?.lanes ?? []);
    const edge = which === 'first' ? changes[0] : changes[changes.length - 1];
    if (edge) goTo(edge);
  }

  function toCause(): void {
    const edge = edgeById(focusWanted ?? app.session.litEdge ?? '');
    const model = app.timing();
    const chain = edge && model ? chainOf(model.lanes, edge.id) : [];
    const cause = chain[chain.length - 2];
    if (cause) goTo(cause);
  }

  const KEYS: Record<string, () => void> = {
    ArrowRight: () => step(1),
    ArrowLeft: () => step(-1),
    ArrowDown: () => stepLane(1),
    ArrowUp: () => stepLane(-1),
    Home: () => ends('first'),
    End: () => ends('last'),
    PageDown: () => pan(200),
    PageUp: () => pan(-200),
    '+': () => zoom(1.25),
    '=': () => zoom(1.25),
    '-': () => zoom(0.8),
    '1': actualSize,
    f: fit,
    a: fitAll,
    c: toCause,
    Escape: () => {
      scroller.focus();
      app.view({ lane: undefined, time: undefined });
    },
    Enter: () => {
      const edge = edgeById(focusWanted ?? app.session.litEdge ?? '');
      if (edge) app.reveal(edge.source, true);
    },
  };
  scroller.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const act = KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
  new ResizeObserver(() => draw()).observe(scroller);

  return {
    element,
    draw,
    fit,
    fitAll,
    actualSize,
    zoom: (factor) => zoom(factor),
    step: stepTime,
    showLane(id) {
      app.view({ lane: id });
      const row = layout && [...layout.doors, ...layout.logic].find((r) => r.lane.id === id);
      if (!row || !layout) return;
      const top = layout.rulerHeight + row.y;
      const [from, to] = [scroller.scrollTop + layout.rulerHeight, scroller.scrollTop + scroller.clientHeight];
      if (top < from || top + row.height > to) scroller.scrollTop = top - scroller.clientHeight / 2;
    },
  };
}

const HELP =
  'Left and right arrow go from change to change in time, up and down from lane to lane, Home and End to the first and last change. ' +
  'Enter shows the source, c goes to the cause. Plus and minus zoom, f fits the stroke, a shows everything, 1 is 100 percent, Escape clears.';

function edgeWords(lanes: readonly Lane[], edge: TimingEdge): string {
  const ranged = edge.min !== null && edge.max !== null && edge.min !== edge.max;
  const range = ranged ? ` (${timeText(edge.min!)} … ${timeText(edge.max!)})` : '';
  return `${timeText(edge.t)}${range}: ${becauseText(lanes, edge.id)}`;
}

function size(svg: SVGSVGElement, width: number, height: number): void {
  for (const [name, value] of [
    ['width', width],
    ['height', height],
  ] as const) {
    if (svg.getAttribute(name) !== String(value)) svg.setAttribute(name, String(value));
  }
}
