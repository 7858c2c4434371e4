/** A fitted value with its tolerance, read back from the text, holds the interval it was fitted to, and hardly more. */
import { expect, it } from 'vitest';
import { figureLiteral, figureMargin, type FigureDimension } from '../../server/core/readings/fit-literals';
import { timeLiteralOf, timeMargin } from '../../server/core/readings/fit';
import { estimate, type Estimate } from '../../server/core/readings/statistics';
import type { Rig } from '../../server/core/model/rig';
import { formatInterval } from '../../server/core/units/units';
import { rigOf } from '../support/rigs';

const read = (door: string, stack = ''): Rig =>
  rigOf(`rig r {
  medium air
  chamber a { volume 1 m3  pressure 2 bar }
  chamber b { volume 1 m3  pressure 1 bar }
  door d { ${door} }
  stack a > d > b ${stack}
}`);

type Ends = { readonly min: number; readonly max: number };
const figure = (found: Estimate, kind: FigureDimension): string => {
  const literal = figureLiteral(found, kind);
  return `${literal} +- ${figureMargin(found, literal, kind)}`;
};

const KINDS: readonly [string, (found: Estimate) => Ends, readonly number[]][] = [
  ['share moved', (e) => read('', `{ moves ${figure(e, 'share')} }`).stacks[0]!.moves!, [0.24, 0.081, 0.9]],
  ['leak, share', (e) => read(`bore 20 mm  leak ${figure(e, 'share')}`).doors[0]!.leak!.value, [0.0064, 1e-4]],
  ['leak, area', (e) => read(`leak ${figure(e, 'area')}`).doors[0]!.leak!.value, [2.0034e-6, 9.96e-5, 3e-9]],
  ['leak, conductance', (e) => read(`leak ${figure(e, 'flow_conductance')}`).doors[0]!.leak!.value, [2.9e-9, 1.4e-7]],
  ['discharge', (e) => read(`bore 20 mm  discharge ${figure(e, 'none')}`).doors[0]!.discharge!, [0.62, 0.9]],
  ['travel', (e) => read(`travel ${timeLiteralOf(e)} +- ${timeMargin(e, timeLiteralOf(e))}`).doors[0]!.opensIn, [4e5]],
];

const CASES = KINDS.flatMap(([name, put, values]) =>
  values.flatMap((value) => [0.05, 0.01, 0.002].map((share) => ({ name, put, value, share }))),
);

it.each(CASES)('$name of $value, known to $share of it', ({ put, value, share }) => {
  const found = estimate(value * 1.00037, share * value, 200, 300);
  const { min, max } = put(found);
  const [low, high] = found.interval;
  expect(min).toBeLessThanOrEqual(low * (1 + 1e-9));
  expect(max).toBeGreaterThanOrEqual(high * (1 - 1e-9));
  expect((max - min) / (high - low)).toBeLessThan(1.5);
});

it.each([
  [[97.76e-6, 100.1e-6], 'area', '0.978 cm2 .. 1.001 cm2'],
  [[0.240306, 0.240311], 'share', '24.0306 % .. 24.0311 %'],
  [[9.5e5, 1.042e6], 'time', '0.95 s .. 1.042 s'],
  [[499_900, 500_100], 'time', '499.9 ms .. 500.1 ms'],
  [[0.6, 0.6213], 'none', '0.6 .. 0.621'],
  [[2.7e-9, 3.1e-9], 'flow_conductance', '0.27 L/s/bar .. 0.31 L/s/bar'],
] as const)('the interval %j (%s) is %s', (ends, dimension, text) =>
  expect(formatInterval(ends, dimension)).toBe(text),
);
