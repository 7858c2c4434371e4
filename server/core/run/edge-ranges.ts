/**
 * Earliest and latest moments of every change of a stroke within the stated tolerances, for pictures, hovers and tables. Counted
 * from the trigger's edge; changes are distinguished by their net or door and how many like them came before.
 */
import type { Rig } from '../model/rig';
import type { TimingFacts } from '../timing/facts';
import { guaranteeWork } from '../timing/guarantee';
import { looseTimes, type MeasureRange } from '../timing/tolerance';
import type { DoorMove, Trace } from '../timing/trace';
import { kept, type Kept, type Work } from '../work/work';
import { startOptions } from './analyse';

/** `net:NAME/on/0`, `door:NAME/opened/0` … → range; the same names as the diagram's edges. */
export type NamedRanges = ReadonlyMap<string, MeasureRange>;

/** Kept with the analysis they belong to: they run the engine at the ends of all tolerances. */
const KNOWN = new WeakMap<TimingFacts, Kept<readonly NamedRanges[]>>();

/** Ranges of all changes of each stroke, by index of the stroke; empty maps for a rig without tolerances. Computed once an analysis. */
export const edgeRanges = (rig: Rig, timing: TimingFacts): readonly NamedRanges[] => rangesOf(rig, timing).value();

/** The same in steps. */
export const edgeRangesWork = (rig: Rig, timing: TimingFacts): Work<readonly NamedRanges[]> =>
  rangesOf(rig, timing).work();

function rangesOf(rig: Rig, timing: TimingFacts): Kept<readonly NamedRanges[]> {
  let ranges = KNOWN.get(timing);
  if (!ranges) KNOWN.set(timing, (ranges = kept(() => computeRanges(rig, timing))));
  return ranges;
}

function* computeRanges(rig: Rig, timing: TimingFacts): Work<readonly NamedRanges[]> {
  if (looseTimes(rig).length === 0) return timing.strokes.map(() => new Map());
  const all = yield* guaranteeWork(
    rig,
    (facts) => measured(rig, facts),
    { doors: [], nets: [] },
    { orders: 24, verify: false },
    startOptions(rig),
  );
  return timing.strokes.map((_, s) => {
    const prefix = `${s} `;
    return new Map(
      [...all].filter(([name]) => name.startsWith(prefix)).map(([name, range]) => [name.slice(prefix.length), range]),
    );
  });
}

function measured(rig: Rig, facts: TimingFacts): Map<string, number> {
  const found = new Map<string, number>();
  facts.strokes.forEach((stroke, s) => {
    putMoments(rig, stroke.trace, countingNames(found, `${s} `));
  });
  return found;
}

/** When each change of a trace happens, by the names of the diagram's edges. */
export function edgeMoments(rig: Rig, trace: Trace): ReadonlyMap<string, number> {
  const found = new Map<string, number>();
  putMoments(rig, trace, countingNames(found, ''));
  return found;
}

function putMoments(rig: Rig, trace: Trace, put: Put): void {
  netMoments(rig, trace, put);
  trace.doors.forEach((track, d) => doorMoments(rig.doors[d]!.name, track.moves, trace.end, put));
}

type Put = (stem: string, t: number) => void;

function countingNames(found: Map<string, number>, prefix: string): Put {
  const counts = new Map<string, number>();
  return (stem, t) => {
    const count = counts.get(stem) ?? 0;
    counts.set(stem, count + 1);
    found.set(`${prefix}${stem}/${count}`, t);
  };
}

function netMoments(rig: Rig, trace: Trace, put: Put): void {
  for (const edge of trace.edges) put(`net:${rig.network.nets[edge.net]!.name}/${edge.value ? 'on' : 'off'}`, edge.t);
}

function doorMoments(name: string, moves: readonly DoorMove[], end: number, put: Put): void {
  moves.forEach((move, k) => {
    const kind = move.to === 1 ? (move.from === 0 ? 'opens' : 'turns') : move.from === 1 ? 'closes' : 'turns';
    put(`door:${name}/${kind}`, move.t);
    const next = moves[k + 1];
    if (move.arrives > end || (next && next.t < move.arrives)) return;
    put(`door:${name}/${move.to === 1 ? 'opened' : 'shuts'}`, move.arrives);
  });
}
