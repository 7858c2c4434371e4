/** Free inputs that a block with a memory reads: states do not differ by how they stand. */
import { expect, it } from 'vitest';
import { proveRig } from '../../server/core/run/prove-rig';
import { rigFrom } from '../support/rig';

const many = (count: number, line: (i: number) => string, between = '\n'): string =>
  Array.from({ length: count }, (_, i) => line(i)).join(between);

const lock = (inner: string): string => `rig lock {
  chamber a { volume 6 m3 }
  chamber b { volume 1 m3 }
  controller { response 50 ms }
  door d { pocket 1 L  travel 100 ms }
  door e { pocket 1 L  travel 100 ms }
  stack a > d > e > b
${inner}
}`;

const sensors = (count: number): string =>
  lock(`${many(count, (i) => `  sensor q${i} on a { pressure above ${2 + i / 10} bar  clears below 1.1 bar }`)}
  drive d = TOF(${many(count, (i) => `q${i}`, ' and ')}, 1 s)
  drive e = TON(q0, 2 s)`);

it('many free sensors into one timer take few states, however they stand', () => {
  const { proof } = proveRig(rigFrom(sensors(8)).rig);
  while (!proof.run(20) && proof.explored < 2_000);
  expect(proof.results().map(({ verdict }) => verdict.state)).toEqual(['refuted', 'refuted', 'proved', 'proved']);
  expect(proof.stored).toBeLessThan(100);
});
