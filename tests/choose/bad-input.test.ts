/** What cannot be tuned: one sentence that names the cause, at the command line and in the editor alike. */
import { describe, expect, it } from 'vitest';
import { parseExpression } from '../../grammar/src/api';
import type { FreeOptions } from '../../server/core/document/tune-problem';
import { suggest } from '../../server/core/document/tune';
import { createDocument } from '../../server/core/document/document';
import { tuneReport } from '../../server/core/report/tune-report';
import { seededRandom } from '../../server/core/timing/tolerance';
import { lockToTune } from '../support/lock-to-tune';

const OPTIONS = { starts: 2, runs: 300, trials: 40, states: 0, random: () => seededRandom(1) };
const FREE = { free: [], allPresets: false, step: 10_000 };
const SOUND = { range: 'in 100 ms .. 500 ms', aim: 'require window(front) >= 300 ms' };

const asked = (text: string, free: Partial<FreeOptions> = {}) => {
  const document = createDocument({ uri: 'file:///r.rig', version: 1, text }, () => undefined);
  return suggest(document, 0, { ...FREE, ...free }, OPTIONS);
};
const refusal = (change: Partial<typeof SOUND>): string => {
  const found = asked(lockToTune({ ...SOUND, ...change }));
  return found.ok ? 'suggested' : found.message;
};

describe('nothing may be chosen', () => {
  it.each([
    ['', 'Nothing in lock may be chosen: give a constant a range (let settle = 1.8 s in 500 ms .. 3 s)'],
    [
      'in 500 ms .. 100 ms',
      'Nothing in lock may be chosen, as the range of held cannot be used: The low end of this range is above its high end.',
    ],
    ['in 400 ms .. 900 ms', 'cannot be used: held is 300 ms, outside its range 400 ms .. 900 ms.'],
    ['in 1 bar .. 3 bar', 'cannot be used: 1 bar is a pressure; a time is needed here.'],
    ['in 100 .. 500', 'cannot be used: 100 has no unit; a time is needed here'],
    ['in 100 ms', 'lock cannot be tuned before its text is correct: '],
    ['in 300 ms .. 300 ms', 'the range of held is one value, 300 ms; give it two ends that differ.'],
  ])('with the range "%s"', (range, message) => {
    expect(refusal({ range })).toContain(message);
    expect(refusal({ range })).not.toContain('\n');
  });

  it('where every constant is given from outside', () => {
    const document = createDocument({ uri: 'file:///r.rig', version: 1, text: lockToTune(SOUND) }, () => undefined);
    const overrides = new Map([['held', parseExpression('200 ms').expression]]);
    const found = suggest(document, 0, { ...FREE, overrides }, OPTIONS);
    expect(found).toMatchObject({
      ok: false,
      message: 'Nothing in lock may be chosen: held is given from outside (--let or the setting caisson.constants).',
    });
  });

  it('where what is freed follows a constant with a range', () =>
    expect(asked(lockToTune(SOUND), { free: ['go'] })).toMatchObject({
      ok: false,
      message: '--free go: its time follows held, which has a range already.',
    }));
});

describe('aims that are none', () => {
  it.each([
    ['prefer least never(front and back)', 'never holds or does not hold; prefer takes a metric that gives a number'],
    ['prefer least repeat', 'prefer least repeat: repeat is not a metric'],
    ['prefer most 3 s', 'prefer most 3 s: 3 s is not a metric'],
    ['prefer most front', 'prefer most front: front is not a metric'],
    ['prefer most windw(front)', 'There is no metric windw. Did you mean window?'],
    ['require windw(front) >= 3 s', 'require windw(front) >= 3 s: There is no metric windw. Did you mean window?'],
    ['require window(front)', 'require window(front): window gives a time and needs a comparison'],
    ['require window(frnt) >= 3 s', 'require window(frnt) >= 3 s: Nothing here is called frnt. Did you mean front?'],
    ['', 'lock states nothing to tune for: write a require or a prefer statement.'],
  ])('%s', (aim, message) => {
    expect(refusal({ aim })).toContain(message);
    expect(refusal({ aim })).not.toContain('\n');
  });

  it('are refused beside aims that are sound', () =>
    expect(refusal({ aim: `${SOUND.aim}\n  prefer least repeat` })).toContain('repeat is not a metric'));
});

describe('aims without an end', () => {
  const report = (aim: string): string => {
    const found = asked(lockToTune({ ...SOUND, aim }));
    return found.ok ? tuneReport(found.answer, () => null).join('\n') : found.message;
  };

  it('name what is impossible, with the best that can be had', () =>
    // The longest pulse, 500 ms, less the travel of 180 ms.
    expect(report('require window(front) >= 3 s')).toContain(
      'No choice within the ranges was found that keeps this requirement:\n    window(front) >= 3 s: at best 320 ms, missed by 2.68 s',
    ));

  it('say where a preference has no finite value', () => {
    const text = report('prefer most time_to(room, 9 bar)');
    expect(text).toContain('prefer most time_to(room, 9 bar) decides nothing: there is no finite value of it here.');
    expect(text).toMatch(/prefer most time_to\(room, 9 bar\) +no value +no value/);
  });

  it('give what is preferred with its value now and then', () =>
    expect(report('prefer most window(front)')).toMatch(/prefer most window\(front\) +120 ms +320 ms/));
});
