/** Following a rig stroke by stroke: what goes on when its doors stand still. */
import { describe, expect, it } from 'vitest';
import { evaluateRequirement } from '../../server/core/metrics/evaluate';
import { analyseRig } from '../../server/core/run/analyse';
import { rigOf } from '../support/rigs';

/** Strokes stop by the store's sensor; nothing stops the feed. */
const rig = (receiver: string, more = ''): ReturnType<typeof rigOf> =>
  rigOf(`rig bank {
  medium air { temperature 20 degC }
  chamber receiver { volume 1 m3  pressure 1 bar ${receiver} }
  chamber store { volume 100 L  pressure 1 bar }
  door upper { pocket 50 L }
  door middle { pocket 50 L }
  door lower { pocket 50 L }
  stack receiver > upper > middle > lower > store
  feed pump into receiver { rate 10 g/s ${more} }
  sensor ready on receiver { pressure above 1.2 bar  clears below 1.05 bar }
  sensor full on store { pressure above 1.9 bar  clears below 1.8 bar }
  signal start = ready and not hold and not full
  signal hold = TOF(upper_on, 5 s)
  signal upper_on = TOF(start, 1 s)
  signal middle_on = TOF(TON(upper_on, 500 ms), 1 s)
  signal lower_on = TOF(TON(middle_on, 1.2 s), 1 s)
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
  require peak(receiver) <= 2 bar
  require final(receiver) <= 2 bar
  require lowest(receiver) >= 0.5 bar
  require peak(store) <= 3 bar
}`);

const states = (bank: ReturnType<typeof rigOf>): string[] => {
  const facts = analyseRig(bank);
  return bank.requirements.map((requirement) => evaluateRequirement(facts, requirement).state);
};

describe('a feed that nothing stops once the strokes have stopped', () => {
  it('leaves the receiver undecided, and the store decided', () => {
    const bank = rig('');
    expect(analyseRig(bank).flow!.filling).toMatchObject({ ended: 'stopped', rising: [0] });
    expect(states(bank)).toEqual(['undecided', 'undecided', 'met', 'met']);
  });

  it('is followed until it passes the limit of the receiver', () => {
    const filling = analyseRig(rig('limit 3 bar')).flow!.filling!;
    // 3 bar of air at 20 degC in 1 m3: 300 000 * 0.0289655 / (8.314463 * 293.15) = 3.5651 kg.
    expect(filling.overLimit[0]!.mass[0]).toBeCloseTo(3.5651, 3);
    // From the last stroke on 10 g/s alone fill it.
    const stopped = filling.points.find((p) => p.strokes === filling.strokes)!;
    const seconds = (filling.overLimit[0]!.t - stopped.t) / 1e6;
    expect(seconds).toBeCloseTo((filling.overLimit[0]!.mass[0] - stopped.mass[0]) / 0.01, 3);
  });

  it('is over where the feed stops itself', () => {
    const bank = rig('limit 3 bar', 'only below 1.8 bar');
    const { filling } = analyseRig(bank).flow!;
    expect(filling).toMatchObject({ ended: 'stopped', rising: [], overLimit: [null, null] });
    expect(states(bank)).toEqual(['met', 'met', 'met', 'met']);
  });
});

describe('a draw that nothing stops', () => {
  it('empties its chamber', () => {
    const bank = rigOf(`rig bank {
  medium water
  chamber sump { volume 2 m3  level 1 m  floor_area 1 m2 }
  chamber tank { volume 1 m3  level 0.5 m  floor_area 1 m2 }
  door inlet { pocket 50 L }
  door outlet { pocket 50 L }
  stack sump > inlet > outlet > tank
  draw user from tank { rate 1 kg/s }
  switch run = on
  sensor wet on sump { level above 1.5 m  clears below 1.2 m }
  signal go = TOF(R_TRIG(wet), 2 s)
  drive inlet = go
  drive outlet = TOF(TON(go, 1 s), 2 s)
}`);
    const { filling } = analyseRig(bank).flow!;
    // 500 L at 998.207 kg/m3 by 1 kg/s: 499.1 s.
    expect(filling).toMatchObject({ ended: 'never', rising: [] });
    expect(filling!.seconds).toBeCloseTo(499.1, 1);
    expect(filling!.lowest[1]).toMatchObject({ mass: 0 });
  });
});

describe('a signal that turns for ever and moves nothing', () => {
  const bin = (lamp: string, drive = ''): ReturnType<typeof rigOf> =>
    rigOf(`rig hopper {
  medium grain packed
  chamber bin { volume 4 m3  mass 0 kg }
  chamber silo { volume 9 m3  mass 0 kg }
  door flap { pocket 20 L  travel 0.3 s }
  stack bin > flap > silo
  feed auger into bin { rate 0.4 kg/s }
  sensor loaded on bin { mass above 60 kg  clears below 5 kg }
  controller { response 20 ms }
  ${lamp}
  ${drive}
  drive flap = TP(loaded, 2 s)
}`);
  const LAMP = 'signal dark = TON(not lamp, 0.5 s)\n  signal lamp = TP(dark, 0.5 s)';
  const outcome = (hopper: ReturnType<typeof rigOf>): unknown[] => {
    const { filling } = analyseRig(hopper).flow!;
    return [filling!.ended, filling!.strokes, filling!.seconds.toPrecision(9)];
  };

  it('leaves the run as it is without it', () => {
    expect(outcome(bin(LAMP))).toEqual(outcome(bin('')));
    expect(outcome(bin(''))[0]).toBe('stopped');
  });

  it('is followed to an end where it runs a feed, too', () => {
    const [ended, strokes] = outcome(bin(LAMP, 'drive auger = lamp'));
    expect(ended).not.toBe('never');
    expect(strokes).toBe(1);
  });
});

describe('a chamber that starts empty', () => {
  // 20 L/min of water at 20 °C into 1 m2: 1 m of level is 1 m3, so 50 minutes; the rim of the sump is at 1.5 m.
  const lift = (level: string): ReturnType<typeof rigOf> =>
    rigOf(`rig lift {
  medium water
  chamber sump { volume 1.5 m3  ${level}  floor_area 1 m2 }
  chamber tank { volume 9 m3 }
  door low  { travel 1 s  pocket 20 L }
  door mid  { travel 1 s  pocket 20 L }
  door high { travel 1 s  pocket 20 L }
  stack sump > low > mid > high > tank
  feed spring into sump { rate 20 L/min }
  controller { response 20 ms }
  sensor ready on sump { level above 1 m  clears below 0.5 m }
  signal start = ready and not hold
  signal low_on = TOF(start, 4 s)
  signal mid_on = TOF(start, 7 s)
  signal high_on = TOF(TON(mid_on, 5.2 s), 4 s)
  signal hold = TOF(mid_on, 6 s)
  drive low = low_on
  drive mid = mid_on
  drive high = high_on
}`);
  const started = (level: string): number => analyseRig(lift(level)).flow!.filling!.firstStroke! / 60e6;

  it('is filled by its feed until strokes start, as one that holds a little is', () => {
    expect(started('')).toBeCloseTo(50, 1);
    expect(started('level 0 m')).toBeCloseTo(50, 1);
    expect(started('level 0.5 m')).toBeCloseTo(25, 1);
  });
});
