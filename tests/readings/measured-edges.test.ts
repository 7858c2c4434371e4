/** A passage has its half at one moment, whether the log gives positions or the words of two limit switches. */
import { expect, it } from 'vitest';
import { positionAt } from '../../server/core/model/motion';
import { edgesOf } from '../../server/core/readings/measured-edges';
import { seeded } from '../support/random';
import { pathOf } from '../support/synthetic-log';

it.each(Array.from({ length: 40 }, (_, seed) => seed))('edges of words are those of positions (seed %d)', (seed) => {
  const random = seeded(seed + 1);
  const draw = (low: number, high: number): number => Math.round(low + (high - low) * random());
  const [opens, closes, step] = [draw(150e3, 900e3), draw(150e3, 900e3), draw(10e3, 60e3)];
  const openings = [0, 1, 2].map((k): [number, number] => [draw(5e5, 8e5) + 4e6 * k, draw(2e6, 2.6e6) + 4e6 * k]);
  const path = pathOf(openings, opens, closes);
  const times = Float64Array.from({ length: Math.ceil(12e6 / step) }, (_, k) => k * step);
  const positions = times.map((t) => positionAt(path, t));
  const words = positions.map((x) => (x > 0 && x < 1 ? 0.5 : x));
  const [byPosition, byWord] = [edgesOf(times, positions), edgesOf(times, words)];
  const due = path.moves.map((m) => 0.5 * (m.t + m.arrives));
  expect(byPosition.map((e) => e.open)).toEqual([true, false, true, false, true, false]);
  expect(byWord.map((e) => e.open)).toEqual(byPosition.map((e) => e.open));
  byPosition.forEach((e, k) => expect(Math.abs(e.t - due[k]!)).toBeLessThan(1e3));
  byWord.forEach((e, k) => expect(Math.abs(e.t - due[k]!)).toBeLessThanOrEqual(0.5 * step + 1));
});
