/** Two triggers whose strokes have different periods: no pattern repeats as a whole, and what rests on one says so. */
import { expect, it } from 'vitest';
import { flowTable } from '../../server/core/report/flow-table';
import { analyseRig } from '../../server/core/run/analyse';
import { rigOf } from '../support/rigs';

const TEXT = `rig two {
  medium air
  chamber a { volume 2 m3  pressure 3 bar }
  chamber b { volume 50 L  pressure 1 bar }
  chamber c { volume 1 m3  pressure 1 bar }
  door d1 { travel 200 ms pocket 1 L }
  door d2 { travel 200 ms pocket 1 L }
  door e1 { travel 200 ms pocket 1 L }
  door e2 { travel 200 ms pocket 1 L }
  stack a > d1 > b > d2 > c
  stack a > e1 > b > e2 > c
  sensor s1 on a { pressure above 1.5 bar }
  sensor s2 on a { pressure above 1.6 bar }
  controller { response 20 ms }
  signal p1 = s1 and not h1
  signal d1_on = TOF(p1, 1 s)
  signal h1 = TOF(d1_on, 5 s)
  signal d2_on = TP(TON(h1 and not d1_on, 1 s), 1 s)
  signal p2 = s2 and not h2
  signal e1_on = TOF(p2, 1 s)
  signal h2 = TOF(e1_on, 7.3 s)
  signal e2_on = TP(TON(h2 and not e1_on, 1 s), 1 s)
  drive d1 = d1_on
  drive d2 = d2_on
  drive e1 = e1_on
  drive e2 = e2_on
  feed f into a { rate 2 g/s }
  draw g from c { rate 2 g/s }
}
`;

it('gives no energy a day, and the reason beside the energy of a stroke', () => {
  const facts = analyseRig(rigOf(TEXT));
  const { filling, strokes } = facts.flow!;
  expect(filling!.ended).toBe('left');
  expect(strokes.map(({ energy }) => energy.perDay)).toEqual(strokes.map(() => null));
  const lines = flowTable(facts).filter((line) => line.includes('no figure a day'));
  expect(lines).toHaveLength(strokes.length);
  expect(lines[0]).toContain('no pattern that repeats as a whole');
});
