/** How much tolerance a requirement can stand: for each time alone, and for all of them together. */
import type { Rig } from '../model/rig';
import type { TimingOptions } from './analyse';
import type { TimingFacts } from './facts';
import { allTimes, factsWith, type TimeParameter } from './tolerance';

/** How far above (≥ 0) or below (< 0) its bound a requirement is; null where it cannot be told. */
export type Slack = (facts: TimingFacts) => number | null;

export interface Breaking {
  readonly parameter: TimeParameter;
  /** Smallest change of this time alone that breaks the requirement, whole microseconds, signed. */
  readonly change: number;
}

/** For each time the smallest change either way that breaks the requirement by itself, smallest first; ways that cannot break it are left out. */
export function breakingTimes(rig: Rig, slack: Slack, reach: number, options: TimingOptions = {}): Breaking[] {
  return allTimes(rig)
    .flatMap((parameter) => {
      const holds = (change: number): boolean =>
        met(slack(factsWith(rig, [parameter], [parameter.nominal + change], options)));
      const changes = [firstBreak(holds, -Math.min(parameter.nominal, reach)), firstBreak(holds, reach)].filter(
        (c): c is number => c !== null,
      );
      return changes.map((change) => ({ parameter, change }));
    })
    .sort((a, b) => Math.abs(a.change) - Math.abs(b.change));
}

const met = (slack: number | null): boolean => slack !== null && slack >= 0;

/** Least change towards `limit` at which `holds` turns false, by halving; null where it still holds at the limit. */
function firstBreak(holds: (change: number) => boolean, limit: number): number | null {
  if (limit === 0 || holds(limit)) return null;
  let sound = 0;
  let broken = limit;
  while (Math.abs(broken - sound) > 1) {
    const middle = Math.trunc((sound + broken) / 2);
    if (middle === sound || middle === broken) break;
    if (holds(middle)) sound = middle;
    else broken = middle;
  }
  return broken;
}

/**
 * The largest relative tolerance (in parts of 1, to 0.01 %) that all times may have together with the requirement still met at its
 * worst corner; 0 where it is not met at nominal times, `most` where it is met throughout.
 */
export function commonTolerance(rig: Rig, slack: Slack, most: number, options: TimingOptions = {}): number {
  const parameters = allTimes(rig);
  const nominal = parameters.map((p) => p.nominal);
  const at = (values: readonly number[]): number | null => slack(factsWith(rig, parameters, values, options));
  const base = at(nominal);
  if (!met(base)) return 0;
  const small = 0.001;
  const direction = parameters.map((p, k) => {
    const step = Math.max(1, Math.round(p.nominal * small));
    const up = at(nominal.map((n, j) => (j === k ? n + step : n)));
    return up !== null && up < base! ? 1 : -1;
  });
  const holds = (share: number): boolean =>
    met(at(nominal.map((n, k) => Math.max(0, Math.round(n * (1 + direction[k]! * share))))));
  if (holds(most)) return most;
  let sound = 0;
  let broken = most;
  while (broken - sound > 0.0001) {
    const middle = (sound + broken) / 2;
    if (holds(middle)) sound = middle;
    else broken = middle;
  }
  return sound;
}
