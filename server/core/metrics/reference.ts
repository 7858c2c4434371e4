/** The section of REFERENCE.md about the metrics of `require`, written from the registry. */
import { signatureOf } from './metric';
import { METRICS } from './registry';

/** Markdown of all metrics with their signatures. */
export function metricsReference(): string {
  const entries = METRICS.map((metric) => {
    const note = metric.kind === 'awaited' ? ' Not computed yet: it evaluates to *not decided*, never to a pass.' : '';
    return `<a id="metric-${metric.name}"></a>**\`${signatureOf(metric)}\`**\n\n${metric.definition}${note}\n`;
  });
  return entries.join('\n');
}
