/**
 * Of inputs that formulas read, one set is turned for each outcome. Against exhaustive exploration of rigs with three of them, switches and sensors, each read by one
 * or two formulas, with feedback, with and without response, some with least times; and how few ways are left to be tried. Seeded: `PROOF_SEED`, `PROOF_RIGS`.
 */
import { describe, expect, it } from 'vitest';
import type { Rig, TimeValue } from '../../server/core/model/rig';
import { proveRig } from '../../server/core/run/prove-rig';
import { seededRandom, type Random } from '../../server/core/timing/tolerance';
import { and, F_TRIG, not, NOWHERE, or, R_TRIG, sketch, SR, TOF, TON, TP, xor, type Term } from '../support/network';
import { expectAsExplored } from '../support/explored';
import { rigFrom } from '../support/rig';

const SEED = Number(process.env['PROOF_SEED'] ?? 82_000);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 24);

const pick = <T>(random: Random, items: readonly T[]): T => items[Math.floor(random() * items.length)]!;
const exact = (value: number): TimeValue => ({ nominal: value, min: value, max: value, at: NOWHERE });

function formula(random: Random, names: readonly string[], depth: number): Term {
  if (depth === 0 || random() < 0.2) return random() < 0.7 ? pick(random, names) : not(pick(random, names));
  const part = (): Term => formula(random, names, depth - 1);
  return pick(random, [and, and, or, xor])(part(), part());
}

/** Three inputs, two formulas over them (the second often reads what the first came to), two doors. */
function drawnRig(random: Random): Rig {
  const response = Math.floor(random() * 3);
  const preset = 1 + Math.floor(random() * 3);
  const block = (): ((a: Term) => Term) =>
    pick<(a: Term) => Term>(random, [
      (a) => a,
      (a) => TON(a, preset),
      (a) => TOF(a, preset),
      (a) => TP(a, preset),
      R_TRIG,
      F_TRIG,
      (a) => SR(a, TON(a, preset)),
    ]);
  const inputs = ['run', 'p', random() < 0.5 ? 'pull' : 'q'];
  // Without response a signal that comes back to itself may never settle, and then there is nothing to compare.
  const beside = response === 0 ? inputs : [...inputs, 'g1'];
  const door = () => ({ travel: Math.floor(random() * 3) });
  const rig = sketch({
    response,
    switches: inputs.includes('pull') ? { run: true, pull: false } : { run: true },
    sensors: inputs.includes('q') ? { p: 'above', q: pick(random, ['above', 'below']) } : { p: 'above' },
    signals: {
      f0: formula(random, beside, 2),
      f1: formula(random, random() < 0.5 ? [...inputs, 'f0'] : inputs, 1),
      g0: block()('f0'),
      g1: block()(random() < 0.5 ? 'f1' : and('f1', not('g0'))),
    },
    doors: { a: door(), b: door() },
    drives: { a: 'g0', b: 'g1' },
    stacks: [['a', 'b']],
  });
  if (random() < 0.75) return rig;
  return { ...rig, switches: rig.switches.map((s, k) => (k === 0 ? { ...s, minOn: exact(2), minOff: exact(1) } : s)) };
}

describe(`inputs read by formulas, ${RIGS} rigs, seed ${SEED}`, () => {
  it('are followed as the exhaustive exploration follows each of them', { timeout: 3_600_000 }, () => {
    expectAsExplored(seededRandom(SEED), RIGS, drawnRig, { proof: 800, truth: 1_000 });
  });
});

const lock = (response: string, inner: string): string => `rig lock {
  chamber a { volume 6 m3 }
  chamber b { volume 1 m3 }
  controller { response ${response} }
  door d { travel 100 ms }
  door e { travel 100 ms }
  stack a > d > e > b
${inner}
}`;
const list = (count: number, line: (k: number) => string, between = '\n'): string =>
  Array.from({ length: count }, (_, k) => line(k)).join(between);

/** Single turns until all is decided: each is one way of going on that is tried. */
function turnsOf(text: string): { readonly turns: number; readonly verdicts: readonly string[] } {
  const { proof } = proveRig(rigFrom(text).rig);
  let turns = 0;
  while (!proof.run(1) && turns < 20_000) turns++;
  return { turns, verdicts: proof.results().map(({ verdict }) => verdict.state) };
}

describe('how many ways are tried', () => {
  const switches = (count: number): string =>
    lock(
      '50 ms',
      `${list(count, (k) => `  switch s${k} = on`)}
  signal start = ${list(count, (k) => `s${k}`, ' and ')} and not hold
  signal hold = TOF(start, 9 s)
  drive d = TOF(start, 1 s)
  drive e = TP(TON(hold, 3 s), 1 s)
  require gap(d, e) >= 1 s`,
    );
  it('hardly more with five switches into one formula than with one', () => {
    const [one, five] = [1, 5].map((count) => turnsOf(switches(count)));
    expect(new Set(five!.verdicts)).toEqual(new Set(['proved']));
    // One question more for each switch: that it brings every door to rest.
    expect(five!.turns / five!.verdicts.length).toBeLessThan((1.3 * one!.turns) / one!.verdicts.length);
  });

  const sensors = (count: number): string =>
    list(count, (k) => `  sensor q${k} on a { pressure above ${2 + k / 10} bar  clears below 1.1 bar }`);

  it.each(['TON', 'TOF', 'TP'])(
    'twenty-six sensors that each start a %s, without a response: few at a time first',
    (kind) => {
      const text = lock(
        '0 s',
        `${sensors(26)}
${list(26, (k) => `  signal t${k} = ${kind}(q${k}, ${100 + 10 * k} ms)`)}
  drive d = ${list(26, (k) => `t${k}`, ' or ')}
  drive e = TOF(t0 and not t1, 300 ms)`,
      );
      const { turns, verdicts } = turnsOf(text);
      expect(verdicts).toEqual(['refuted', 'refuted', 'proved', 'proved']);
      expect(turns).toBeLessThan(1_000);
    },
  );
});
