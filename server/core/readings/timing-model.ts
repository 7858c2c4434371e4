/**
 * How the moments of a run hang on the times of its control. Each edge of a trace is its trigger plus the presets and responses along its
 * chain of causes, so that its derivative by each of them is how often it lies on that chain: exact, as long as the order of events stays.
 */
import type { Rig, TimeValue } from '../model/rig';
import type { Source } from '../model/problem';
import { chainOf } from '../timing/causes';
import type { Trace } from '../timing/trace';
import type { EdgePair } from './align';

/** A time of the control that may be fitted. */
export interface ControlTime {
  readonly kind: 'preset' | 'response';
  /** Of the block (a step of a sequence is one, too), or of the controller. */
  readonly name: string;
  readonly stated: TimeValue;
  readonly put: (rig: Rig, time: number) => Rig;
  /** Where the text states it; null where it states nothing. */
  readonly at: Source | null;
}

export interface ControlTimes {
  readonly times: readonly ControlTime[];
  /** Index into `times` by element: its preset, its response; −1 where it has none. */
  readonly presets: readonly number[];
  readonly responses: readonly number[];
}

const exact = (time: TimeValue, value: number): TimeValue => {
  const nominal = Math.max(0, Math.round(value));
  return { ...time, nominal, min: nominal, max: nominal };
};

/** All presets and responses. Elements whose response is stated at one place share it; what answers at once by its nature has none. */
export function controlTimes(rig: Rig): ControlTimes {
  const times: ControlTime[] = [];
  const { elements } = rig.network;
  const change = (
    of: Rig,
    which: (k: number) => boolean,
    by: (e: Rig['network']['elements'][number]) => typeof e,
  ): Rig => ({
    ...of,
    network: { ...of.network, elements: of.network.elements.map((e, k) => (which(k) ? by(e) : e)) },
  });
  const presets = elements.map((e, k) => {
    if (!e.preset) return -1;
    const put = (of: Rig, t: number): Rig =>
      change(
        of,
        (i) => i === k,
        (x) => ({ ...x, preset: exact(e.preset!, t) }),
      );
    return times.push({ kind: 'preset', name: e.name, stated: e.preset, at: e.preset.at, put }) - 1;
  });
  const shared = new Map<string, number>();
  const responses = elements.map((e) => {
    if (rig.controller.style === 'scan') return -1;
    const isCommon =
      e.response.at.start === rig.controller.time.at.start && e.response.at.uri === rig.controller.time.at.uri;
    if (!isCommon && e.response.nominal === 0) return -1;
    const place = `${e.response.at.uri} ${e.response.at.start}`;
    const known = shared.get(place);
    if (known !== undefined) return known;
    const like = (k: number): boolean => {
      const { at } = elements[k]!.response;
      return at.uri === e.response.at.uri && at.start === e.response.at.start;
    };
    const put = (of: Rig, t: number): Rig => change(of, like, (x) => ({ ...x, response: exact(e.response, t) }));
    const at = isCommon && rig.controller.at === null ? null : e.response.at;
    const index =
      times.push({ kind: 'response', name: isCommon ? 'controller' : e.name, stated: e.response, at, put }) - 1;
    shared.set(place, index);
    return index;
  });
  return { times, presets, responses };
}

/** What one edge depends on: how often each control time counts, and the operation from outside that it follows from (−1: none known). */
export interface Dependence {
  readonly counts: ReadonlyMap<number, number>;
  readonly root: { readonly net: number; readonly t: number } | null;
}

/** `edge`: index into the edges of the trace. */
export function dependenceOfEdge(
  rig: Rig,
  trace: Trace,
  { presets, responses }: ControlTimes,
  edge: number,
): Dependence {
  const counts = new Map<number, number>();
  const count = (k: number): void => void (k >= 0 && counts.set(k, (counts.get(k) ?? 0) + 1));
  const chain = chainOf(trace.edges, edge);
  for (const i of chain) {
    const { net, preset } = trace.edges[i]!;
    const { kind, index } = rig.network.nets[net]!;
    if (kind !== 'element') continue;
    // What an operation changes at once has no response; what came out of a block has.
    if (trace.edges[i]!.cause >= 0) count(responses[index]!);
    if (preset > 0) count(presets[index]!);
  }
  const first = trace.edges[chain[0] ?? -1];
  const isInput = first !== undefined && rig.network.nets[first.net]!.kind !== 'element';
  return { counts, root: isInput ? { net: first.net, t: first.t } : null };
}

/** Of the expected edge of a pair. */
export function dependence(rig: Rig, trace: Trace, times: ControlTimes, { of, index, expected }: EdgePair): Dependence {
  if (of === 'signal') return dependenceOfEdge(rig, trace, times, expected!.move);
  const move = trace.doors[index]!.moves[expected!.move]!;
  if (move.cause >= 0) return dependenceOfEdge(rig, trace, times, move.cause);
  return { counts: new Map(), root: null };
}
