/** Common practice of such rigs; no source. */
import { describe, expect, it } from 'vitest';
import { analyseRig } from '../../server/core/run/analyse';
import { quickRun } from '../../server/core/run/scenario-run';
import { rigOf } from '../support/rigs';

const rig = (
  medium: string,
  receiver: string,
  store: string,
  sensor: string,
  more = '',
  stack = '',
): ReturnType<typeof rigOf> =>
  rigOf(`rig bank {
  medium ${medium}
  chamber receiver { ${receiver} }
  chamber store    { ${store} }
  door upper  { pocket 500 L  travel 300 ms }
  door middle { pocket 500 L  travel 300 ms }
  door lower  { pocket 500 L  travel 300 ms }
  stack receiver > upper > middle > lower > store ${stack}
  ${more}
  controller { response 50 ms }
  switch run = on
  sensor ready on receiver { ${sensor} }
  signal start     = run and ready and not hold
  signal upper_on  = TOF(start, 1.5 s)
  signal middle_on = TOF(start, 2.5 s)
  signal lower_on  = TOF(TON(middle_on, 2.0 s), 1.0 s)
  signal hold      = TOF(upper_on, 10 s)
  drive upper = upper_on
  drive middle = middle_on
  drive lower = lower_on
}`);

describe('common practice', () => {
  it('the mass moved per stroke falls in proportion to what is left upstream', () => {
    const bank = rig(
      'air',
      'volume 10 m3  mass 200 kg',
      'volume 100 m3  mass 1 kg',
      'mass above 10 kg  clears below 5 kg',
    );
    const filling = quickRun(bank)!.fill({ target: ({ low }) => low.mass[0] <= 150 });
    const moved = filling.points
      .slice(1)
      .map((p, k) => ({ left: filling.points[k].mass[0], kg: filling.points[k].mass[0] - p.mass[0] }));
    const first = moved.find((m) => m.kg > 0)!;
    const last = moved[moved.length - 1];
    // A pocket of 0.5 m3 on 10 m3, opened together with another of 0.5 m3: one stroke takes 0.5/10.5 of what is there once the
    // second one has been pushed back: 200 kg give 9.5 kg, 150 kg give 7.1 kg.
    expect(first.kg).toBeCloseTo((200 * 0.5) / 10.5, 1);
    expect(last.kg / last.left).toBeCloseTo(first.kg / first.left, 6);
  });

  it('with a measured fraction too', () => {
    const bank = rig(
      'ore packed',
      'volume 10 m3  mass 200 kg',
      'volume 10 m3  mass 0 kg',
      'mass above 10 kg  clears below 5 kg',
      '',
      '{ moves 24 % }',
    );
    const facts = analyseRig(bank).flow!;
    expect(facts.strokes[0].gains[1]).toBeCloseTo(48, 9);
    const filling = quickRun(bank)!.fill({ target: ({ low }) => low.mass[0] <= 150 });
    expect(filling.points[filling.points.length - 1].mass[0]).toBeCloseTo(200 * 0.76 * 0.76, 9);
  });

  it('thin gas moves little: hydrogen a fourteenth of what air moves, at the same pressure', () => {
    const kg = (medium: string): number =>
      analyseRig(
        rig(
          medium,
          'volume 10 m3  pressure 2 bar',
          'volume 10 m3  pressure 1 bar',
          'pressure above 1.9 bar  clears below 1.5 bar',
        ),
      ).flow!.strokes[0].gains[1];
    expect(kg('air') / kg('hydrogen')).toBeCloseTo(28.9655 / 2.0159, 3);
  });

  it('a density threshold of 15 kg/m3 stops the rig just below it', () => {
    const bank = rig(
      'gas_mix packed',
      'volume 10 m3  density 20 kg/m3',
      'volume 1000 m3  mass 0 kg',
      'density above 15 kg/m3',
    );
    const { emptying } = analyseRig(bank).flow!;
    expect(emptying!.ended).toBe('stopped');
    const left = emptying!.points[emptying!.points.length - 1].mass[0] / 10;
    expect(left).toBeLessThanOrEqual(15);
    expect(left).toBeGreaterThan((15 * 10) / 11);
  });

  it('one line carries 10 kg/s of liquid, so 20 kg/s needs two', () => {
    const line = (rate: string): (number | null)[] => {
      const bank = rig(
        'water',
        'volume 10 m3  level 1 m',
        'volume 10 m3  level 1 m',
        'level above 0.5 m',
        `feed main into receiver { rate ${rate}  line_limit 10 kg/s  pump_limit 8 kg/s }`,
      );
      const { lines, pumps } = analyseRig(bank).flow!.lines[0];
      return [lines, pumps];
    };
    expect(line('20 kg/s')).toEqual([2, 3]);
    expect(line('10 kg/s')).toEqual([1, 2]);
    expect(line('20.001 kg/s')).toEqual([3, 3]);
    expect(line('20 L/s')).toEqual([2, 3]);
  });
});

describe('bad input: one clear message, and timing goes on', () => {
  const messages = (bank: ReturnType<typeof rigOf>): string[] => {
    const facts = analyseRig(bank);
    expect(facts.timing.strokes[0].repeat).toBe(11_800_000);
    return facts.flow!.problems.map((p) => p.message);
  };
  const R = 'volume 10 m3  pressure 2 bar';
  const S = 'pressure above 1.9 bar  clears below 1.5 bar';

  it.each([
    ['no volume', 'air', 'pressure 1 bar', R, S, 'Chamber `store` needs a volume before flow can be computed.'],
    [
      'level in a gas',
      'air',
      R,
      R,
      'level above 1 m',
      'Only a liquid has a level: let sensor `ready` look at pressure, density or mass.',
    ],
    [
      'pressure of a packed medium',
      'ore packed',
      'volume 1 m3',
      'volume 1 m3',
      S,
      'A packed medium has no pressure: let sensor `ready` look at density or mass.',
    ],
    ['store above its limit', 'air', `${R}  limit 1.5 bar`, R, S, 'Chamber `store` starts above its own limit.'],
    [
      'gas beyond the ideal law',
      'carbon_dioxide',
      'volume 1 m3  pressure 40 bar',
      R,
      S,
      'In `store` the ideal gas law is about',
    ],
    [
      'condensing',
      'carbon_dioxide { law real }',
      'volume 1 m3  density 500 kg/m3',
      R,
      S,
      'In `store` carbon_dioxide would condense',
    ],
  ])('%s', (_name, medium, store, receiver, sensor, message) => {
    const [first, ...others] = messages(rig(medium, receiver, store, sensor));
    expect(first.slice(0, message.length)).toBe(message);
    expect(others).toEqual([]);
  });
});
