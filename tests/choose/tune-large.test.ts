/** Tuning a rig of very many timers ends within what the search may cost, which counts by the size of the rig, and says so. */
import { describe, expect, it } from 'vitest';
import { createDocument } from '../../server/core/document/document';
import { suggestWork } from '../../server/core/document/tune';
import { tuneReport } from '../../server/core/report/tune-report';
import { seededRandom } from '../../server/core/timing/tolerance';
import { timersAtOnce } from '../support/hard-rigs';

const OPTIONS = { starts: 12, runs: 4000, trials: 300, states: 0, random: () => seededRandom(1) };

/** The suggestion with every preset free, and the steps of work that it took. */
function suggested(timers: number) {
  const document = createDocument(
    { uri: 'file:///timers.rig', version: 1, text: timersAtOnce(timers) },
    () => undefined,
  );
  const work = suggestWork(document, 0, { free: [], allPresets: true, step: 10_000 }, OPTIONS);
  for (let steps = 1; ; steps++) {
    const step = work.next();
    if (!step.done) continue;
    if (!step.value.ok) throw new Error(step.value.message);
    return { answer: step.value.answer, steps };
  }
}

describe('every preset of a rig of many timers', () => {
  it('is chosen in work that hardly grows beyond the size at which the search is cut, which is said', () => {
    const [some, many] = [suggested(700), suggested(1400)];
    for (const { answer } of [some, many]) {
      expect(answer.tuned.complete).toBe(false);
      expect(tuneReport(answer, () => null).join('\n')).toContain('the search ended with its budget (--runs)');
    }
    // Presets are looked through one by one; all else is cut.
    expect(many.steps).toBeLessThan(4 * some.steps);
  });

  it('is searched to the end where there are few', () => {
    expect(suggested(6).answer.tuned.complete).toBe(true);
  });
});
