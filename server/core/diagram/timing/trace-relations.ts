/** Windows, overlaps and whole paths of any trace (a scenario, a counter-example), in the shape that strokes have them. */
import type { DoorFacts } from '../../timing/facts';
import type { Trace } from '../../timing/trace';
import { openStretches, pairsOf, type OpenStretch } from '../../timing/windows';
import type { DoorRelations } from './marks';

/** More doors than this: pairs would be more than anyone reads; only neighbours of a stack could then be of interest. */
const MOST_DOORS = 40;

export function relationsOf(trace: Trace): DoorRelations {
  const stretches = trace.doors.map((track) => openStretches(track, trace.start, trace.end));
  const doors = stretches.map((list, door): DoorFacts => ({ door, windows: list.map(windowOf) }));
  return {
    trace,
    doors,
    pairs: doors.length > MOST_DOORS ? [] : pairsOf(stretches, { end: trace.end }),
  };
}

function windowOf(stretch: OpenStretch): DoorFacts['windows'][number] {
  const { notShut, openBefore, commanded, fullyOpen } = stretch;
  const [first, last] = [commanded[0], commanded[commanded.length - 1]];
  return {
    notShut,
    openBefore,
    commanded: first && last ? { from: first.from, to: last.to } : null,
    fullyOpen: fullyOpen[0] ?? null,
    commandedParts: commanded,
    fullyOpenParts: fullyOpen,
    opensBecause: [],
    closesBecause: [],
  };
}
