/** Tolerances: stack-ups worked by hand, correlated paths, Monte Carlo against the worst case, Wilson's interval against a published table. Presets of its fixtures: common practice, no source. */
import { describe, expect, it } from 'vitest';
import { analyseTiming } from '../../server/core/timing/analyse';
import type { TimingFacts } from '../../server/core/timing/facts';
import {
  allTimes,
  choose,
  looseTimes,
  monteCarlo,
  seededRandom,
  wilson,
  worstCase,
  worstCaseWork,
} from '../../server/core/timing/tolerance';
import { breakingChanges, breakingTimes, commonTolerance } from '../../server/core/timing/tolerance-limits';
import { edgeName, strokeMeasures } from '../../server/core/timing/tolerance-measures';
import { rigFrom } from '../support/rig';

const RIG = `
rig bank "Gas bank" {
  medium methane
  chamber receiver { volume 6 m3  pressure 1.02 bar }
  chamber store { volume 1.5 m3  pressure 1.02 bar }
  door upper { pocket 250 L  travel 300 ms +- 10 ms }
  door middle { pocket 250 L  travel 300 ms +- 10 ms }
  door lower { pocket 250 L  travel 300 ms +- 10 ms }
  stack receiver > upper > middle > lower > store
  controller { response 50 ms +- 10 ms  timer_accuracy 2 % }
  sensor ready on receiver { pressure above 1.5 bar  clears below 1.3 bar }
  signal start = ready and not hold
  signal upper_on = TOF(start, 1.5 s)
  signal middle_on = TOF(start, 2.5 s)
  signal lower_on = TOF(TON(middle_on, 2.0 s), 1.0 s)
  signal hold = TOF(upper_on, 10 s)
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
}`;
const { rig } = rigFrom(RIG);
const ranges = worstCase(rig, strokeMeasures);

describe('worst case', () => {
  // Chains of the digester bank; every response 50 ± 10 ms, presets ± 2 %, travel 300 ± 10 ms.
  it('adds up the chain of one edge', () => {
    // upper leaves shut: start + upper_on = 2 responses: 100 ± 20 ms.
    expect(ranges.get(edgeName(0, 0, 0, 'opens'))).toMatchObject({
      nominal: 100_000,
      min: 80_000,
      max: 120_000,
      additive: true,
    });
    // lower leaves shut: start, middle_on, TON, lower_on = 4 responses ± 10 and 2 s ± 40 ms: 2.2 s ± 80 ms.
    expect(ranges.get(edgeName(0, 2, 0, 'opens'))).toMatchObject({
      nominal: 2_200_000,
      min: 2_120_000,
      max: 2_280_000,
      additive: true,
    });
    // upper shut: start twice, upper_on twice, hold once: 5 × ± 10; 1.5 s ± 30; travel ± 10: 2.05 s ± 90 ms.
    expect(ranges.get(edgeName(0, 0, 0, 'shuts'))).toMatchObject({
      nominal: 2_050_000,
      min: 1_960_000,
      max: 2_140_000,
    });
  });

  it('ends its search within a count of steps, says so, and is left at each run of the engine', () => {
    let spent = 0;
    let atOnce = 0;
    let longest = 0;
    const whenWorked = (steps: number): void => {
      spent += steps;
      longest = Math.max(longest, (atOnce += steps));
    };
    for (const most of [0, 40, 100]) {
      spent = 0;
      const work = worstCaseWork(rig, strokeMeasures, { whenWorked }, most);
      let step = work.next();
      for (; !step.done; step = work.next()) atOnce = 0;
      const first = 1 + rig.network.nets.length / 8;
      // One run is begun at most before the end is seen, for each end of a time.
      expect(spent).toBeLessThan(most + 200);
      expect(longest).toBeLessThanOrEqual(first + 2);
      for (const [name, cut] of step.value) {
        const whole = ranges.get(name)!;
        expect(cut.cut).toBe(true);
        expect([cut.guaranteed, cut.min >= whole.min, cut.max <= whole.max]).toEqual([false, true, true]);
        expect(cut.additive && most === 0).toBe(false);
      }
    }
    expect([...ranges.values()].some((range) => range.cut)).toBe(false);
  });

  it('does not count twice what two doors share', () => {
    // gap(upper, lower) = middle_on + TON + lower_on + 2 s − 2 upper_on − hold − start − 1.5 s − travel:
    // responses 1+1+1+2+1+1 = 7 × ± 10, presets ± 40 ± 30, travel ± 10: 150 ± 150 ms. Taken apart it would be ± 170.
    expect(ranges.get('0/gap/0/2')).toMatchObject({ nominal: 150_000, min: 0, max: 300_000, additive: true });
  });

  it('cancels a shared timer altogether', () => {
    const twins = rigFrom(`
rig twins {
  medium air
  chamber a { volume 1 m3  pressure 1 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door one { pocket 1 L  travel 100 ms }
  door two { pocket 1 L  travel 100 ms }
  stack a > one > two > b
  sensor go on a { pressure above 2 bar  clears below 1.5 bar }
  signal late = TON(go, 2 s +- 200 ms)
  signal one_on = TP(late, 1 s)
  signal two_on = TP(late, 3 s)
  drive one = one_on
  drive two = two_on
}`).rig;
    const found = worstCase(twins, strokeMeasures);
    expect(found.get(edgeName(0, 0, 0, 'opens'))).toMatchObject({ min: 1_800_000, max: 2_200_000 });
    expect(found.get('0/overlap/0/1')).toMatchObject({ nominal: 900_000, min: 900_000, max: 900_000 });
  });

  it('takes the tolerance of its own preset from the margin of an on-delay', () => {
    const ton = rig.network.elements.findIndex((e) => e.name === 'lower_on/TON');
    // Input on for 3 responses (start, upper_on, hold) + 2.5 s = 2.65 s, less 2 s.
    // Least: 3 * 40 ms + 2.45 s - 2.04 s = 530 ms; most: 3 * 60 ms + 2.55 s - 1.96 s = 770 ms.
    expect(ranges.get(`0/margin/${ton}`)).toMatchObject({ nominal: 650_000, min: 530_000, max: 770_000 });
  });

  it('names what moves a measure, strongest first', () => {
    const causes = ranges.get('0/gap/0/2')!.causes.map((c) => [c.parameter.name, Math.abs(c.effect)]);
    expect(causes[0]).toEqual(['TON of lower_on/TON', 80_000]);
    expect(causes[1]).toEqual(['TOF of upper_on', 60_000]);
  });
});

describe('Monte Carlo', () => {
  const drawn = monteCarlo(rig, strokeMeasures, 300, seededRandom(7));
  it('never leaves the worst case, and comes near to it', () => {
    expect(drawn.size).toBeGreaterThan(10);
    for (const [name, likely] of drawn) {
      const range = ranges.get(name)!;
      expect(likely.min, name).toBeGreaterThanOrEqual(range.min);
      expect(likely.max, name).toBeLessThanOrEqual(range.max);
    }
    // Two responses, evenly drawn from ± 10 ms each: 300 runs reach beyond half of the ± 20 ms.
    const opens = drawn.get(edgeName(0, 0, 0, 'opens'))!;
    expect(opens.min).toBeLessThan(90_000);
    expect(opens.max).toBeGreaterThan(110_000);
  });

  it('gives the same for the same seed', () => {
    expect(monteCarlo(rig, strokeMeasures, 20, seededRandom(3))).toEqual(
      monteCarlo(rig, strokeMeasures, 20, seededRandom(3)),
    );
    expect(monteCarlo(rig, strokeMeasures, 20, seededRandom(3))).not.toEqual(
      monteCarlo(rig, strokeMeasures, 20, seededRandom(4)),
    );
  });
});

describe('choices of times', () => {
  it('leave all others nominal', () => {
    const loose = looseTimes(rig);
    const nominal = choose(
      rig,
      loose,
      loose.map((p) => p.nominal),
    );
    expect(strokeMeasures(analyseTiming(rig, { times: nominal }))).toEqual(strokeMeasures(analyseTiming(rig)));
  });
});

describe('what a requirement can stand', () => {
  const gapIn = (facts: TimingFacts): number | null =>
    facts.strokes[0]?.pairs.find((p) => p.doors[0] === 0 && p.doors[1] === 2)?.gap ?? null;
  const question = {
    rig,
    watch: { doors: [0, 2], nets: [] },
    slack: (facts: TimingFacts) => (gapIn(facts) ?? -1) - 100_000,
    measure: (facts: TimingFacts) => new Map([['gap', gapIn(facts) ?? -1]]),
    judge: (ranges: ReadonlyMap<string, { min: number; covered: boolean }>) => {
      const gap = ranges.get('gap')!;
      return gap.min < 100_000 ? false : gap.covered ? true : null;
    },
  };
  it('finds the smallest single change', () => {
    // 50 ms of slack; the response of upper_on counts twice: 25 ms and a bit break it.
    const { breaks, complete } = breakingTimes(question, 1_000_000, { left: 2000 });
    expect(breaks[0]).toMatchObject({ parameter: { name: 'response of upper_on' }, change: 25_001 });
    expect(complete).toBe(true);
  });
  it('says so where the runs end before the answer', () => {
    expect(breakingTimes(question, 1_000_000, { left: 3 }).complete).toBe(false);
  });
  it('looks at the present times themselves, also where none may change', () => {
    const broken = breakingTimes({ ...question, slack: () => -1 }, 0, { left: 2000 });
    expect(broken.breaks.map((b) => b.change + 0)).toEqual([0, 0, 0]);
    expect(breakingTimes(question, 0, { left: 2000 })).toMatchObject({ breaks: [], complete: true });
  });
  it('looks at shorter times as at longer ones', () => {
    const late = allTimes(rig).find((p) => p.nominal === 2_000_000)!;
    // 50 ms of slack, and the gap shrinks by as much as lower opens earlier: a microsecond beyond.
    expect(breakingChanges(question, late, 500_000, { left: 2000 })).toEqual({
      shorter: -50_001,
      longer: null,
      complete: true,
    });
  });
  it('sees a pulse that comes only where two signals change in another order, and is gone again beyond it', () => {
    // p1 is on from its preset for 200 ms; early from 0.9 s on, late from 1 s on: together without late only for presets of 700 ms to 1 s.
    const { rig: pulsed } = rigFrom(`rig pulsed {
  chamber a {}
  chamber b {}
  door main { travel 0 s }
  door extra { travel 0 s }
  stack a > main > b
  stack a > extra > b
  controller { response 0 s }
  switch go = off
  signal p1 = TP(TON(go, 1.5 s), 200 ms)
  signal early = TON(go, 900 ms)
  signal late = TON(go, 1 s)
  drive main = TP(go, 4 s)
  drive extra = TOF(p1 and early and not late, 300 ms)
}`);
    const moves = (facts: TimingFacts): number => facts.strokes[0]!.trace.doors[1]!.moves.length;
    const about = {
      ...question,
      rig: pulsed,
      watch: { doors: [0, 1], nets: [] },
      slack: (facts: TimingFacts) => (moves(facts) === 0 ? 1 : -1),
    };
    const preset = allTimes(pulsed).find((p) => p.nominal === 1_500_000)!;
    // 500 ms earlier p1 comes as late does, or just before; 1.2 s earlier it has gone before early comes.
    const found = breakingChanges(about, preset, 1_200_000, { left: 5000 });
    expect(found).toMatchObject({ longer: null, complete: true });
    expect(Math.abs(found.shorter! + 500_000)).toBeLessThanOrEqual(1);
  });
  it('finds the common tolerance', () => {
    // Sum of coefficients × times: 7 × 50 ms + 2 s + 1.5 s + 300 ms = 4.15 s; 50 ms of slack / 4.15 s = 1.2 %.
    const { share, exact } = commonTolerance(question, 0.5, { left: 2000 }, seededRandom(1));
    expect(share).toBeCloseTo(0.05 / 4.15, 3);
    expect(exact).toBe(true);
  });
});

describe("Wilson's interval", () => {
  // R. G. Newcombe, Statist. Med. 17, 857 (1998), Table I, method 3.
  it.each([
    [81, 263, 0.2553, 0.3662],
    [15, 148, 0.0624, 0.1605],
    [0, 20, 0, 0.1611],
  ])('%i of %i', (hits, n, low, high) => {
    const [a, b] = wilson(hits, n);
    expect(a).toBeCloseTo(low, 4);
    expect(b).toBeCloseTo(high, 4);
  });
});
