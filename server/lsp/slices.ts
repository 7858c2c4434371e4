/** Running long computations without keeping messages waiting. */
import type { Work } from '../core/work/work';
import type { Host } from './host';

/** Longest stretch of work before waiting messages are looked at, in milliseconds. */
export const SLICE = 10;

/** Runs a computation in slices, letting messages in between; null where `stop` ended it. */
export async function inSlices<T>(
  host: Pick<Host, 'now' | 'pause'>,
  work: Work<T>,
  stop: () => boolean,
): Promise<{ readonly value: T } | null> {
  for (let since = host.now(); ;) {
    const step = work.next();
    if (step.done) return { value: step.value };
    if (host.now() - since < SLICE) continue;
    await host.pause();
    if (stop()) return null;
    since = host.now();
  }
}
