/**
 * Numbers of a stroke that tolerances are computed for: every edge of every door window, overlaps, gaps, repeat, margins.
 *
 * A measure gives named numbers, so that the runs of one study can be compared: the same name is the same quantity in every run, and a name
 * that is missing in one says that the quantity may not exist. All are moments, differences of two, or a difference less a preset, because
 * those are the sums that `orders/cover-measure.ts` can bound over a whole cell.
 */
import type { TimingFacts } from './facts';

export type DoorEdge = 'opens' | 'opened' | 'closes' | 'shuts';

/** Name under which `strokeMeasures` gives an edge: stroke, door and window by index. */
export function edgeName(stroke: number, door: number, window: number, edge: DoorEdge): string {
  return `${stroke}/${door}/${window}/${edge}`;
}

/** All numbers of all strokes, whole microseconds; those that do not exist in these facts are left out. */
export function strokeMeasures(facts: TimingFacts): ReadonlyMap<string, number> {
  const found = new Map<string, number>();
  const put = (name: string, value: number | null | undefined): void => {
    if (value !== null && value !== undefined) found.set(name, value);
  };
  facts.strokes.forEach((stroke, s) => {
    for (const { door, windows } of stroke.doors) {
      windows.forEach((window, w) => {
        put(edgeName(s, door, w, 'opens'), window.notShut.from);
        put(edgeName(s, door, w, 'opened'), window.fullyOpen?.from);
        put(edgeName(s, door, w, 'closes'), window.fullyOpen?.to);
        put(edgeName(s, door, w, 'shuts'), window.notShut.to);
      });
    }
    for (const pair of stroke.pairs) {
      put(`${s}/overlap/${pair.doors.join('/')}`, pair.leastOverlap);
      put(`${s}/gap/${pair.doors.join('/')}`, pair.gap);
    }
    for (const timer of stroke.timers) put(`${s}/margin/${timer.element}`, timer.margin);
    put(`${s}/repeat`, stroke.repeat);
    put(`${s}/ends`, stroke.strokeEnds);
  });
  return found;
}
