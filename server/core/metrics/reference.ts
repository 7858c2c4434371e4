/** The section of REFERENCE.md about the metrics of `require`, written from the registry. */
import { signatureOf } from './metric';
import { METRICS } from './registry';

/** Markdown of all metrics with their signatures. */
export function metricsReference(): string {
  const entries = METRICS.map((metric) => {
    return `<a id="metric-${metric.name}"></a>**\`${signatureOf(metric)}\`**\n\n${metric.definition}\n`;
  });
  return entries.join('\n');
}
