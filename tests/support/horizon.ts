/** Any horizon of a stroke that repeats, answered from its trace: edges so far, strokes so far, the state at a time. */
import { positionAt } from '../../server/core/model/motion';
import type { StrokeFacts } from '../../server/core/timing/facts';

/** Values of all nets and openings of all doors (0 shut … 1 fully open) at one time. */
export interface StateAt {
  /** Null for a net that the pattern does not cover, beyond the trace. */
  readonly nets: readonly (boolean | null)[];
  readonly openings: readonly number[];
}

/** A time of the trace that looks the same as `t`, and how many whole periods lie between. */
function fold(stroke: StrokeFacts, t: number): { readonly t: number; readonly periods: number } {
  const { pattern } = stroke;
  if (pattern === null || t <= pattern.to) return { t, periods: 0 };
  const period = pattern.to - pattern.from;
  const periods = Math.ceil((t - pattern.to) / period);
  return { t: t - periods * period, periods };
}

/** Number of entries at or before `t` in an ascending list. */
function countUpTo<T>(list: readonly T[], t: number, timeOf: (x: T) => number): number {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timeOf(list[middle]!) <= t) low = middle + 1;
    else high = middle;
  }
  return low;
}

function countPeriodic<T>(stroke: StrokeFacts, list: readonly T[], t: number, timeOf: (x: T) => number): number {
  const folded = fold(stroke, t);
  const upTo = countUpTo(list, folded.t, timeOf);
  if (folded.periods === 0) return upTo;
  const { from, to } = stroke.pattern!;
  return upTo + folded.periods * (countUpTo(list, to, timeOf) - countUpTo(list, from, timeOf));
}

/** Edges of the nets that the pattern covers (all, if none is left out) up to and including time `t`, the trigger's own included. */
export function countEdges(stroke: StrokeFacts, t: number): number {
  const covers = stroke.pattern?.covers ?? null;
  const counted = covers && new Set(covers);
  const edges = counted ? stroke.trace.edges.filter((edge) => counted.has(edge.net)) : stroke.trace.edges;
  return countPeriodic(stroke, edges, t, (edge) => edge.t);
}

/** Strokes started up to and including time `t`. */
export function countStrokes(stroke: StrokeFacts, t: number): number {
  return countPeriodic(stroke, stroke.starts, t, (start) => start);
}

/** The state just after time `t` ≥ 0 with the trigger held. Beyond a trace that neither repeats nor ends it is that of its end. */
export function stateAt(stroke: StrokeFacts, t: number): StateAt {
  const { trace } = stroke;
  const { t: at, periods } = fold(stroke, t);
  const nets: (boolean | null)[] = [...trace.initial];
  const edges = countUpTo(trace.edges, at, (edge) => edge.t);
  for (let i = 0; i < edges; i++) nets[trace.edges[i]!.net] = trace.edges[i]!.value;
  const covers = stroke.pattern?.covers;
  if (covers && periods > 0) {
    const known = new Set(covers);
    nets.forEach((_, net) => !known.has(net) && (nets[net] = null));
  }
  return { nets, openings: trace.doors.map((track) => positionAt(track, at)) };
}
