/** Guarantees within tolerance: rigs worked by hand whose worst value lies inside the ranges, and random ones against drawn runs. */
import { describe, expect, it } from 'vitest';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { standings, toleranceVerdicts } from '../../server/core/metrics/within-tolerance';
import { analyseRig, startOptions } from '../../server/core/run/analyse';
import { factsWith, looseTimes, seededRandom, worstCase } from '../../server/core/timing/tolerance';
import { edgeName, strokeMeasures } from '../../server/core/timing/tolerance-measures';
import { guaranteedRanges } from '../../server/core/timing/guarantee';
import { rigFrom } from '../support/rig';
import { looseRigText } from '../support/loose-rig';

const gate = (controller: string, lines: string): string => `rig kiln_feed {
  medium air
  chamber hopper { volume 1 m3  pressure 1 bar }
  chamber kiln { volume 1 m3  pressure 1 bar }
  door flap { pocket 8 L  travel 20 ms }
  door slide { pocket 8 L  travel 20 ms }
  stack hopper > flap > slide > kiln
  controller { ${controller} }
  sensor full on hopper { pressure above 3 bar  clears below 2.5 bar }
${lines}
}`;

const verdictsOf = (text: string, orders = 24): Record<string, string> => {
  const facts = analyseRig(rigFrom(text).rig);
  return Object.fromEntries([...toleranceVerdicts(facts, orders)].map(([r, v]) => [r.text, v.state]));
};

describe('values inside the ranges', () => {
  // flap is off its seat 0.72–0.79 s … 1.32–1.39 s, slide at 1.22–1.29 s: they keep apart at both ends of flap's delay, and meet in between.
  const PASSING = gate(
    'response 10 ms',
    `  signal flap_on = TP(TON(full, 1 s +- 300 ms), 50 ms)
  signal slide_on = TP(TON(full, 1.2 s), 50 ms)
  drive flap = flap_on
  drive slide = slide_on
  require gap(flap, slide) >= 20 ms
  require never(flap and slide)`,
  );

  it('pulses that pass each other are no guarantee', () => {
    expect(verdictsOf(PASSING)).toEqual({ 'gap(flap, slide) >= 20 ms': 'broken', 'never(flap and slide)': 'broken' });
  });

  it('the range of the gap is that of all orders: both at once, 70 ms of each pulse; apart at most 0.43 s', () => {
    const facts = analyseRig(rigFrom(PASSING).rig);
    const gap = [...toleranceVerdicts(facts, 24).values()][0]!;
    // flap shut 0.79 s, slide leaves 1.22 s: 430 ms; each pulse keeps its door off its seat for 50 + 20 ms.
    expect([gap.range!.min, gap.range!.max]).toEqual([-70_000, 430_000]);
  });

  it('a scan time within tolerance: the number of scans changes inside the range', () => {
    const text = gate(
      'scan 10 ms +- 2 ms',
      `  drive flap = TP(full, 70 ms)
  drive slide = TP(TON(full, 98 ms), 500 ms)
  require shuts_at(flap) <= 95 ms
  require shuts_at(flap) <= 102 ms`,
    );
    // 7 scans of just under 70/6 ms each, 7 x 11.666 ms = 81.662 ms, then 20 ms of travel; a scan of part of a microsecond more is allowed for.
    expect(verdictsOf(text, 200)).toEqual({ 'shuts_at(flap) <= 95 ms': 'broken', 'shuts_at(flap) <= 102 ms': 'kept' });
    const { rig } = rigFrom(text);
    const name = edgeName(0, 0, 0, 'shuts');
    const nothing = { doors: [], nets: [] };
    const range = guaranteedRanges(rig, strokeMeasures, nothing, { orders: 200, verify: false }).get(name)!;
    expect(range).toMatchObject({ guaranteed: true, min: 90_000 });
    expect(range.max).toBeGreaterThanOrEqual(7 * 11_666 + 20_000);
    expect(range.max).toBeLessThan(7 * 11_667 + 20_000);
    // The corners alone would say 92 ms.
    expect(worstCase(rig, strokeMeasures).get(name)).toMatchObject({ max: 92_000, guaranteed: false });
  });

  it('what could not be covered within the budget is not guaranteed', () => {
    const text = gate(
      'scan 10 ms +- 2 ms',
      `  drive flap = TP(full, 70 ms)
  drive slide = TP(TON(full, 98 ms), 500 ms)
  require shuts_at(flap) <= 102 ms`,
    );
    expect(verdictsOf(text, 2)).toEqual({ 'shuts_at(flap) <= 102 ms': 'not-guaranteed' });
  });

  it('breaks first finds what turns round: later by 100 ms the gap is gone, later by more than 2.5 s it is back', () => {
    const text = gate(
      'response 10 ms',
      `  signal flap_on = TP(TON(full, 1.02 s), 1 s)
  signal slide_on = TP(TON(full, 2.3 s), 1 s)
  drive flap = flap_on
  drive slide = slide_on
  require never(flap and slide)`,
    );
    const facts = analyseRig(rigFrom(text).rig);
    const options = { samples: 1, random: seededRandom(1), reach: 60_000_000, most: 0.5, runs: 2000 };
    const [standing] = standings(facts, options);
    // flap shut at 1.02 + 1 + 0.02 s (and two responses, as slide), slide leaves at 2.3 s: 260 ms apart.
    expect(standing!.breaks[0]).toMatchObject({ parameter: { name: 'TON of flap_on/TON' }, change: 260_001 });
    expect(standing).toMatchObject({ breaksComplete: true, breaksSampled: [] });
  });

  it('a travel so long that its door turns round half way is only sampled, and that is said', () => {
    const text = gate(
      'response 10 ms',
      `  drive flap = TP(full, 1 s)
  drive slide = TP(TON(full, 1.4 s), 1.2 s)
  require shuts_at(slide) <= 4 s`,
    );
    const facts = analyseRig(rigFrom(text).rig);
    const options = { samples: 1, random: seededRandom(1), reach: 3_000_000, most: 0.5, runs: 2000 };
    const [standing] = standings(facts, options);
    const { breaks, breaksComplete, breaksSampled } = standing!;
    // slide is driven for 1.2 s: from 1.200001 s of travel on it turns round before it is open.
    const change = 1_200_001 - 20_000;
    expect(breaksSampled).toEqual([
      expect.objectContaining({ parameter: expect.objectContaining({ name: 'opening of slide' }), change }),
    ]);
    expect(breaksComplete).toBe(true);
    expect(breaks.length).toBeGreaterThan(0);
  });
});

const SEED = Number(process.env['GUARANTEE_SEED'] ?? 5);
const RIGS = Number(process.env['GUARANTEE_RIGS'] ?? 12);
const DRAWS = 60;

describe(`guarantees of ${RIGS} random rigs against drawn runs, seed ${SEED}`, () => {
  it('are never contradicted', { timeout: 3_600_000 }, () => {
    const random = seededRandom(SEED);
    let kept = 0;
    for (let k = 0; k < RIGS; k++) {
      const text = looseRigText(random);
      const { rig } = rigFrom(text);
      const verdicts = [...toleranceVerdicts(analyseRig(rig), 24)].filter(([, v]) => v.state === 'kept');
      kept += verdicts.length;
      const loose = looseTimes(rig);
      for (let draw = 0; draw < DRAWS && verdicts.length > 0; draw++) {
        const at = loose.map((p) => p.min + Math.floor(random() * (p.max - p.min + 1)));
        const timing = factsWith(rig, loose, at, startOptions(rig));
        for (const [requirement, { range }] of verdicts) {
          const { state, actual } = evaluateRequirement({ rig, timing, flow: null }, requirement);
          const what = `${requirement.text} at ${at.join()} of\n${text}`;
          expect(state, what).toBe('met');
          if (!range || !actual) continue;
          expect(actual.nominal, what).toBeGreaterThanOrEqual(range.min);
          expect(actual.nominal, what).toBeLessThanOrEqual(range.max);
        }
      }
    }
    expect(kept).toBeGreaterThan(RIGS / 2);
  });
});
