/** What the page keeps over reloads. Anything may come back from an older version or be broken: what does not fit is dropped. */
import type { SavedState, ViewState } from '../../server/protocol/preview';

/** More files than this are not remembered; the oldest go. */
const MOST_VIEWS = 30;

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const KINDS: Record<keyof ViewState, (value: unknown) => boolean> = {
  rig: isText,
  tab: (v) => ['timing', 'section', 'store', 'wiring'].includes(v as string),
  trigger: isCount,
  run: isCount,
  from: isNumber,
  to: isNumber,
  time: isNumber,
  mark: isNumber,
  zero: isNumber,
  lane: isText,
  look: (v) => ['auto', 'light', 'dark'].includes(v as string),
  table: (v) => typeof v === 'boolean',
  sliders: (v) => typeof v === 'boolean',
  speed: (v) => isNumber(v) && (v as number) > 0,
  scroll: isNumber,
  section: isPlace,
  wiring: isPlace,
  store: (v) => isRecord(v) && isNumber(v.from) && isNumber(v.to) && (v.from as number) < (v.to as number),
};

function isText(value: unknown): boolean {
  return typeof value === 'string';
}
function isNumber(value: unknown): boolean {
  return typeof value === 'number' && Number.isFinite(value);
}
function isCount(value: unknown): boolean {
  return Number.isInteger(value) && (value as number) >= 0;
}
function isPlace(value: unknown): boolean {
  return (
    isRecord(value) && isNumber(value.zoom) && (value.zoom as number) > 0 && isNumber(value.x) && isNumber(value.y)
  );
}

/** A view with only what fits. */
export function readView(value: unknown): ViewState {
  if (!isRecord(value)) return {};
  const entries = Object.entries(KINDS).filter(([name, fits]) => fits(value[name]));
  const view = Object.fromEntries(entries.map(([name]) => [name, value[name]])) as ViewState;
  if (view.from !== undefined && view.to !== undefined && view.from < view.to) return view;
  const { from: _from, to: _to, ...rest } = view;
  return rest;
}

/** The kept state, or null where there is none that can be read. */
export function readSaved(value: unknown): SavedState | null {
  if (!isRecord(value) || typeof value.uri !== 'string') return null;
  const views = isRecord(value.views) ? value.views : {};
  return {
    uri: value.uri,
    locked: value.locked === true,
    views: Object.fromEntries(Object.entries(views).map(([uri, view]) => [uri, readView(view)])),
    cautioned: Array.isArray(value.cautioned) ? value.cautioned.filter((u): u is string => typeof u === 'string') : [],
  };
}

/** State with the view of one file put last; the oldest views beyond a limit are forgotten. */
export function withView(views: SavedState['views'], uri: string, view: ViewState): SavedState['views'] {
  const others = Object.entries(views).filter(([key]) => key !== uri);
  return Object.fromEntries([...others.slice(-(MOST_VIEWS - 1)), [uri, view]]);
}
