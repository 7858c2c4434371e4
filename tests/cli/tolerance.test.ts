/** `caisson tolerance`: what it says of requirements that tolerances say nothing of, and of the end of its search. */
import { describe, expect, it } from 'vitest';
import { endOfStudy, studyTolerance, toleranceReport } from '../../server/core/report/tolerance-report';
import { analyseRig } from '../../server/core/run/analyse';
import { seededRandom } from '../../server/core/timing/tolerance';
import { rigOf } from '../support/rigs';
import { run } from './run';

const RIG = `rig pair {
  medium air
  chamber receiver { volume 1 m3  pressure 1.1 bar }
  chamber store { volume 1 m3  pressure 1 bar }
  door first { pocket 10 L  travel 200 ms }
  door second { pocket 10 L  travel 200 ms }
  stack receiver > first > second > store
  controller { response 10 ms  timer_accuracy 2 % }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.2 bar }
  signal first_on = TOF(R_TRIG(ready), 1 s)
  signal second_on = TOF(TON(first_on, 500 ms), 1 s)
  drive first = first_on
  drive second = second_on
  require opens_at(first) <= 10 s
  require window(first) <= 500 ms
  require stroke_mass(store) >= 1 g
}
`;

describe('requirements within tolerance', () => {
  it('says what it did not look at, and why', async () => {
    const { out } = await run(['tolerance', 'pair.rig', '--samples', '10'], { 'pair.rig': RIG });
    expect(out).toContain('not examined within tolerance: window(first) <= 500 ms: it does not hold at nominal times');
    expect(out).toContain('not examined within tolerance: stroke_mass(store) >= 1 g: it is about contents');
  });

  it('says so where it stands all that was tried', async () => {
    // The door opens 20 ms after the edge: half as much again is far from 10 s.
    const { out } = await run(['tolerance', 'pair.rig', '--samples', '10'], { 'pair.rig': RIG });
    expect(out).toContain('holds with every time off by up to 50 %, the most that is examined');
  });

  it('tells the same as data', async () => {
    const { out } = await run(['tolerance', '--json', 'pair.rig', '--samples', '10'], { 'pair.rig': RIG });
    const { rigs } = JSON.parse(out) as { rigs: { notLookedAt: { text: string }[] }[] };
    expect(rigs[0].notLookedAt.map((r) => r.text)).toEqual(['window(first) <= 500 ms', 'stroke_mass(store) >= 1 g']);
  });
});

describe('the end of a study', () => {
  const facts = analyseRig(rigOf(RIG));
  const options = { samples: 200, random: seededRandom(1), reach: 60_000_000, most: 0.5, runs: 40 };

  it('comes at any step, is named, and leaves what was computed', () => {
    const whole = studyTolerance(facts, options);
    expect([whole.ended, endOfStudy(whole), whole.left]).toEqual([null, null, []]);
    let steps = 0;
    studyTolerance(facts, options, () => ++steps < 0);
    for (const part of [0, 0.1, 0.5, 0.9, 0.99]) {
      let left = Math.floor(steps * part);
      const study = studyTolerance(facts, { ...options, random: seededRandom(1) }, () => left-- <= 0);
      expect(endOfStudy(study)).toMatch(/^Not all of pair was examined within tolerance: its time was over/);
      expect(toleranceReport(study, 1).join('\n')).toContain('not reached: ');
      // Not one step more than asked for.
      expect(left).toBe(-1);
      study.standings.forEach((standing, k) => expect(standing).toEqual(whole.standings[k]));
    }
  });

  it('comes after a count of work, whatever is asked', () => {
    const study = studyTolerance(facts, { ...options, samples: 1_000_000 }, () => false, 5000);
    expect(study.ended).toBe('work');
    expect(endOfStudy(study)).toContain('(fewer --samples or --runs reach further).');
  });

  it('is one sentence and exit code 1', async () => {
    const { code, err } = await run(['tolerance', 'pair.rig', '--samples', '1000000', '--seconds', '1'], {
      'pair.rig': RIG,
    });
    expect([code, err]).toEqual([1, expect.stringMatching(/^caisson: Not all of pair was examined[^\n]+\n$/)]);
  });
});
