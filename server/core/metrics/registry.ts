/** All metrics of `require`, in the order of the reference. */
import { FLOW_METRICS } from './flow-metrics';
import type { Metric } from './metric';
import { cycle } from './timing/cycle';
import { gap } from './timing/gap';
import { margin } from './timing/margin';
import { closesAt, openedAt, opensAt, shutsAt } from './timing/moments';
import { never } from './timing/never';
import { openTime } from './timing/open-time';
import { order } from './timing/order';
import { overlap } from './timing/overlap';
import { pulse } from './timing/pulse';
import { repeat } from './timing/repeat';
import { standsOpen } from './timing/stands-open';
import { windowMetric } from './timing/window';

export const METRICS: readonly Metric[] = [
  overlap,
  gap,
  order,
  never,
  repeat,
  cycle,
  windowMetric,
  openTime,
  opensAt,
  openedAt,
  closesAt,
  shutsAt,
  margin,
  pulse,
  standsOpen,
  ...FLOW_METRICS,
];

const BY_NAME = new Map(METRICS.map((metric) => [metric.name, metric]));

/** The metric of this name, or undefined. */
export function metricNamed(name: string): Metric | undefined {
  return BY_NAME.get(name);
}
