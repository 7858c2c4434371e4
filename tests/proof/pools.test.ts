/**
 * Sensors that are read together in one place are followed as one input. Against exhaustive exploration of rigs with two or three of them, in
 * every sort of formula and block, with and without response; and rigs with so many that every choice of them would never end.
 */
import { describe, expect, it } from 'vitest';
import type { Rig, TimeValue } from '../../server/core/model/rig';
import { proveRig } from '../../server/core/run/prove-rig';
import { seededRandom, type Random } from '../../server/core/timing/tolerance';
import { and, F_TRIG, not, NOWHERE, or, R_TRIG, sketch, SR, TOF, TON, TP, xor, type Term } from '../support/network';
import { expectAsExplored } from '../support/explored';
import { rigFrom } from '../support/rig';

const SEED = Number(process.env['PROOF_SEED'] ?? 71_000);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 24);

const pick = <T>(random: Random, items: readonly T[]): T => items[Math.floor(random() * items.length)]!;

/** A formula that reads every one of these once. */
function joined(random: Random, names: readonly string[]): Term {
  const [first, ...others] = names.map((name): Term => (random() < 0.3 ? not(name) : name));
  const all = others.reduce<Term>((a, b) => pick(random, [and, or, and, or, xor])(a, b), first!);
  return random() < 0.2 ? not(all) : all;
}

function pooledRig(random: Random): Rig {
  const sensors = ['p', 'q', 'r'].slice(0, random() < 0.5 ? 2 : 3);
  const style = random() < 0.25 ? { scan: 1 + Math.floor(random() * 2) } : { response: Math.floor(random() * 3) };
  // Without response a signal that comes back to itself may never settle, and then there is nothing to compare.
  const beside = pick(random, style.response === 0 ? ['run'] : ['run', 'g1']);
  const level =
    random() < 0.5 ? joined(random, sensors) : pick(random, [and, or, xor])(beside, joined(random, sensors));
  const preset = 1 + Math.floor(random() * 3);
  const block = pick<(a: Term) => Term>(random, [
    (a) => a,
    (a) => TON(a, preset),
    (a) => TOF(a, preset),
    (a) => TP(a, preset),
    R_TRIG,
    F_TRIG,
    (a) => SR(a, TON(a, preset)),
  ]);
  const second = pick<Term>(random, [TOF('g0', preset), TON('g0', preset), not('g0'), TP(not('g0'), preset)]);
  const door = () => ({
    travel: Math.floor(random() * 3),
    rest: random() < 0.2 ? ('open' as const) : ('closed' as const),
  });
  const rig = sketch({
    ...style,
    switches: { run: true },
    sensors: Object.fromEntries(sensors.map((name) => [name, pick(random, ['above', 'below'] as const)])),
    signals: { g0: block(level), g1: second },
    doors: { a: door(), b: door() },
    drives: { a: 'g0', b: pick(random, ['g0', 'g1']) },
    stacks: [['a', 'b']],
  });
  if (random() < 0.8) return rig;
  const exact = (value: number): TimeValue => ({ nominal: value, min: value, max: value, at: NOWHERE });
  return { ...rig, sensors: rig.sensors.map((s, k) => (k === 0 ? { ...s, minOn: exact(2), minOff: exact(1) } : s)) };
}

describe(`sensors read together, ${RIGS} rigs, seed ${SEED}`, () => {
  it('are followed as the exhaustive exploration follows each of them', { timeout: 3_600_000 }, () => {
    expectAsExplored(seededRandom(SEED), RIGS, pooledRig, { proof: 1_200, truth: 1_200 });
  });
});

const COUNT = 26;
const list = (between: string, of = (k: number): string => `q${k}`): string =>
  Array.from({ length: COUNT }, (_, k) => of(k)).join(between);
const lock = (controller: string, least: string, inner: string): string => `rig lock {
  chamber a { volume 6 m3 }
  chamber b { volume 1 m3 }
  controller { ${controller} }
  door d { travel 100 ms }
  door e { travel 100 ms }
  stack a > d > e > b
${list('\n', (k) => `  sensor q${k} on a { pressure above ${2 + k / 10} bar  clears below 1.1 bar${least} }`)}
${inner}
  drive e = TON(q0, 200 ms)
}`;
const WAYS: Readonly<Record<string, string>> = {
  'held back by any, and a door called back at power-on': lock('response 0 s', '', `  drive d = not (${list(' or ')})`),
  'held back by any': lock('response 50 ms', '', `  drive d = not (${list(' or ')})`),
  'all of them': lock('response 50 ms', '', `  drive d = TOF(${list(' and ')}, 1 s)`),
  'with least times': lock('response 50 ms', '  min_on 1 s  min_off 1 s', `  drive d = TOF(${list(' or ')}, 1 s)`),
  scanned: lock('scan 50 ms', '', `  drive d = TOF(${list(' and ')}, 100 ms)`),
};

describe('twenty-six sensors into one door', () => {
  it.each(Object.entries(WAYS))('%s: every question is decided', (_, text) => {
    const { proof } = proveRig(rigFrom(text).rig);
    while (!proof.run(50) && proof.explored < 2_000);
    const verdicts = proof.results().map(({ verdict }) => verdict.state);
    expect(verdicts).not.toContain('undecided');
    expect(verdicts.slice(0, 2)).toEqual(['refuted', 'refuted']);
    expect(verdicts.at(-1)).toBe('proved');
  });
});
