/**
 * A rig whose signals switch by themselves: the moment of the trigger within their course decides the times of a stroke.
 *
 * The facts of a stroke hold for one phase between trigger and clock, the one in which the rig happened to come to rest. Rather than try
 * phases (each gives other times, and there are as many as microseconds in a period), what depends on the phase is named, so that checks
 * can say which doors' times are one case out of many.
 */
import { drivesOf, sourcesOf } from '../model/logic';
import type { Rig } from '../model/rig';
import type { StrokeFacts } from './facts';

export interface Clock {
  /** Nets that switch with no operation, those that something driven depends on; ascending. */
  readonly nets: readonly number[];
  /** The first of their changes in the stroke, in microseconds after the trigger. */
  readonly next: { readonly net: number; readonly value: boolean; readonly t: number };
  /** Time from one such change to the next, in microseconds; null where it comes once in the trace. */
  readonly period: number | null;
  /** Doors that open in the stroke and depend on such a net: at another moment of the trigger their times differ. */
  readonly doors: readonly number[];
}

/**
 * What switches by itself in a stroke, and the doors that move with it; null where every change follows from the trigger. The rig is at
 * rest when the trigger comes, that is, no door moves: a change that no operation led to then belongs to something that never stops.
 */
export function clockOf(rig: Rig, { trigger, trace, doors }: StrokeFacts): Clock | null {
  if (trigger.kind === 'power') return null;
  const { edges } = trace;
  // Causes come before their effects in the record, so one pass from the front knows every edge's root.
  const byItself: boolean[] = [];
  edges.forEach((edge, i) => {
    byItself[i] = edge.cause < 0 ? edge.net !== trigger.net : byItself[edge.cause]!;
  });
  const isClock = (i: number): boolean => byItself[i]! && edges[i]!.cause < 0;
  const roots = new Set(edges.filter((_, i) => isClock(i)).map((edge) => edge.net));
  if (roots.size === 0) return null;
  // By the network, not by causes of this run: a clock that happened not to matter this time may the next.
  const dependent = doors.flatMap(({ door, windows }) => {
    const sources = sourcesOf(
      rig,
      drivesOf(rig, door).map((drive) => drive.net),
    );
    return windows.length > 0 && [...roots].some((net) => sources.has(net)) ? [door] : [];
  });
  if (dependent.length === 0) return null;
  const first = edges[edges.findIndex((_, i) => isClock(i))]!;
  const again = edges.find(({ net, value, t }) => net === first.net && value === first.value && t > first.t);
  const nets = new Set(edges.filter((_, i) => byItself[i]).map((edge) => edge.net));
  return {
    nets: [...nets].sort((a, b) => a - b),
    next: { net: first.net, value: first.value, t: first.t },
    period: again ? again.t - first.t : null,
    doors: dependent,
  };
}
