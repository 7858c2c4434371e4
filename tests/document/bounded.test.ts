/** Short rigs that ask for more than anybody can wait for: whatever is asked of them ends by a count of work, in small steps, and says so. */
import { describe, expect, it } from 'vitest';
import { formatText } from '../../grammar/src/api';
import { createDocument } from '../../server/core/document/document';
import { isTextError } from '../../server/core/document/problems';
import { drawFence } from '../../server/core/features/fence';
import { studyTolerance } from '../../server/core/report/tolerance-report';
import { seededRandom } from '../../server/core/timing/tolerance';
import { EXPLOSIVE } from '../support/explosive';

const documentOf = (text: string) => createDocument({ uri: 'file:///a.rig', version: 1, text }, () => undefined);

/** Steps of a document's work, each of which may be left: a few milliseconds at most. */
const MOST_STEPS = 60_000;

describe.each(Object.entries(EXPLOSIVE))('%s', (_, text) => {
  it('is checked in steps that end, and what was not computed is reported', () => {
    const document = documentOf(text);
    let steps = 0;
    for (const work = document.work(); !work.next().done;) expect(++steps).toBeLessThan(MOST_STEPS);
    const cut = document.analysed().some(({ timing }) => timing.incomplete !== null);
    expect(document.problems().some((p) => p.code === 'cycle/not-worked-out')).toBe(cut);
  });

  it('is formatted, or left as it is with a reason', () => {
    const { text: formatted, reason } = formatText(text);
    if (formatted === null) expect(reason).toMatch(/\S/);
    else expect(formatText(formatted).text).toBe(formatted);
  });

  it('gives a picture or one sentence in a page; a text with errors is left as it is', () => {
    const drawn = drawFence(text, 'a-');
    if (drawn === null) expect(documentOf(text).textProblems().some(isTextError)).toBe(true);
    else expect(drawn).toMatch(/<svg|Not drawn: /);
  });

  it('is studied within tolerance up to a count of work', () => {
    for (const facts of documentOf(text).analysed()) {
      const options = { samples: 100, random: seededRandom(1), reach: 60_000_000, most: 0.5, runs: 40 };
      let looks = 0;
      studyTolerance(facts, options, () => ++looks < 0, 300);
      expect(looks).toBeLessThan(310);
    }
  });
});
