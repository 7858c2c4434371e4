/**
 * How much one turn of a proof does, counted in zones handled, rounds of the network and candidates tried, not timed: between two turns the caller looks at its clock,
 * so a turn that grew with the number of choices at an instant would be a budget overrun. Rigs whose states have very many ways on.
 */
import { beforeAll, beforeEach, expect, it, vi } from 'vitest';
import type * as Blocks from '../../server/core/proof/zone/blocks';
import type * as Dbm from '../../server/core/proof/zone/dbm';
import type * as Reach from '../../server/core/proof/zone/reach';
import type * as ProveRig from '../../server/core/run/prove-rig';
import { rigFrom } from '../support/rig';

const counted = vi.hoisted(() => ({ zones: 0, rounds: 0, tried: 0 }));
vi.mock('../../server/core/proof/zone/dbm', async (original) => {
  const dbm = await original<typeof Dbm>();
  const counting =
    <A extends unknown[], R>(work: (...args: A) => R) =>
    (...args: A): R => {
      counted.zones++;
      return work(...args);
    };
  return {
    ...dbm,
    copyZone: counting(dbm.copyZone),
    remapClocks: counting(dbm.remapClocks),
    constrain: counting(dbm.constrain),
    extrapolate: counting(dbm.extrapolate),
  };
});
vi.mock('../../server/core/proof/zone/blocks', async (original) => {
  const blocks = await original<typeof Blocks>();
  const runRounds: typeof blocks.runRounds = (...args) => {
    counted.rounds++;
    blocks.runRounds(...args);
  };
  return { ...blocks, runRounds };
});

// Asked for each candidate that is tried for an instant, also where nothing comes of it.
vi.mock('../../server/core/proof/zone/reach', async (original) => {
  const module = await original<typeof Reach>();
  const reachOf: typeof module.reachOf = (network) => {
    const reach = module.reachOf(network);
    const doors: typeof reach.doors = (candidate) => {
      counted.tried++;
      return reach.doors(candidate);
    };
    return { ...reach, doors };
  };
  return { ...module, reachOf };
});

// Test files share modules: those of the proof that another file has loaded count nothing.
let proveRig: typeof ProveRig.proveRig;
beforeAll(async () => {
  vi.resetModules();
  ({ proveRig } = await import('../../server/core/run/prove-rig'));
});

beforeEach(() => {
  counted.tried = 0;
  counted.zones = 0;
  counted.rounds = 0;
});

const many = (count: number, line: (i: number) => string, between = '\n'): string =>
  Array.from({ length: count }, (_, i) => line(i)).join(between);

const rig = (inner: string): string => `rig lock {
  chamber a { volume 6 m3 }
  chamber b { volume 1 m3 }
  controller { response 0 s }
  door d { travel 100 ms }
  door e { travel 100 ms }
  stack a > d > e > b
${inner}
}`;

const sensors = (count: number): string =>
  many(count, (i) => `  sensor q${i} on a { pressure above ${2 + i / 10} bar  clears below 1.1 bar }`);

/** Rigs by the number of things that may happen at one instant. */
const WIDE: readonly (readonly [string, (count: number) => string])[] = [
  [
    'sensors that each start a timer, all read by one latch',
    (count) =>
      rig(`${sensors(count)}
  drive d = SR(${many(count, (i) => `TON(q${i}, ${1 + i} s)`, ' and ')}, q0)
  drive e = ${many(count, (i) => `TOF(q${i}, ${1 + i} s)`, ' xor ')}`),
  ],
  [
    'timers that one sensor starts, due together within tolerance',
    (count) =>
      rig(`${sensors(1)}
  drive d = ${many(count, () => 'TON(q0, 2 s +- 100 ms)', ' and ')}
  drive e = ${many(count, () => 'TP(q0, 2 s +- 100 ms)', ' xor ')}`),
  ],
];

const sum = (): number => counted.zones + counted.rounds + counted.tried;

/** The most that one turn does in the first turns of a proof. */
function mostOf(text: string, turns: number): number {
  const { proof } = proveRig(rigFrom(text).rig);
  let most = 0;
  for (let k = 0; k < turns; k++) {
    const before = sum();
    if (proof.run(1)) break;
    most = Math.max(most, sum() - before);
  }
  return most;
}

it.each(WIDE)('one turn does no more than in proportion to the size of the rig: %s', (_, make) => {
  const [small, large] = [4, 12].map((count) => mostOf(make(count), 1_500));
  expect(small).toBeGreaterThan(0);
  // Three times the size: choices at one instant are 256 times as many.
  expect(large).toBeLessThan(9 * small!);
});
