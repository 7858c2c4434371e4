/**
 * The proof engine against an independent exhaustive exploration on small random rigs with exact times: proved must mean that no
 * run breaks the property, refuted that some run does. Seeded: the seed stands in the test's name.
 */
import { describe, expect, it } from 'vitest';
import { initialInputs } from '../../../server/core/timing/engine';
import { createProof } from '../../../server/core/timing/proof/prove';
import type { Property } from '../../../server/core/timing/proof/monitor';
import { seededRandom, type Random } from '../../../server/core/timing/tolerance';
import { everBroken } from '../../support/exhaustive';
import { and, F_TRIG, not, or, R_TRIG, RS, sketch, SR, TOF, TON, TP, CTU, xor, type Term } from '../../support/network';

const SEED = Number(process.env['PROOF_SEED'] ?? 20260);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 300);

function randomTerm(random: Random, names: readonly string[], depth: number): Term {
  const pick = <T>(items: readonly T[]): T => items[Math.floor(random() * items.length)]!;
  const term = (): Term => randomTerm(random, names, depth - 1);
  if (depth <= 0 || random() < 0.2) return random() < 0.7 ? pick(names) : not(pick(names));
  const preset = 1 + Math.floor(random() * 4);
  switch (Math.floor(random() * 11)) {
    case 0:
      return and(term(), term());
    case 1:
      return or(term(), term());
    case 2:
      return xor(term(), term());
    case 3:
    case 4:
      return TON(term(), preset);
    case 5:
    case 6:
      return TOF(term(), preset);
    case 7:
      return TP(term(), preset);
    case 8:
      return random() < 0.5 ? R_TRIG(term()) : F_TRIG(term());
    case 9:
      return random() < 0.5 ? SR(term(), term()) : RS(term(), term());
    default:
      return CTU(term(), term(), 1 + Math.floor(random() * 2));
  }
}

function randomRig(random: Random) {
  const inputs =
    random() < 0.4
      ? { sensors: { s: 'above' as const }, switches: { run: random() < 0.5 } }
      : { sensors: { s: 'above' as const } };
  const names = ['s', ...('switches' in inputs ? ['run'] : [])];
  const signals: Record<string, Term> = {};
  const count = 2 + Math.floor(random() * 2);
  for (let k = 0; k < count; k++) {
    // Now and then a signal that is written further on: feedback.
    const known =
      random() < 0.2 ? [...names, ...Object.keys(signals), `g${count - 1}`] : [...names, ...Object.keys(signals)];
    signals[`g${k}`] = randomTerm(random, known, 2);
  }
  const style = random() < 0.3 ? { scan: 1 + Math.floor(random() * 2) } : { response: Math.floor(random() * 3) };
  const travel = (): number => Math.floor(random() * 3);
  const drive = (): string => `g${Math.floor(random() * count)}`;
  return sketch({
    ...style,
    ...inputs,
    signals,
    doors: { a: travel(), b: travel() },
    drives: { a: drive(), b: drive() },
    stacks: [['a', 'b']],
  });
}

describe(`proof against exhaustive exploration, ${RIGS} rigs, seed ${SEED}`, () => {
  it('agrees wherever both decide', () => {
    const random = seededRandom(SEED);
    const tally = { proved: 0, refuted: 0, undecided: 0, tooLarge: 0 };
    const reasons = new Map<string, number>();
    for (let k = 0; k < RIGS; k++) {
      const rig = randomRig(random);
      const property: Property = { kind: 'straight-through', name: 'apart', doors: [0, 1] };
      const proof = createProof(rig, [property], { initial: initialInputs(rig) });
      while (!proof.run(500) && proof.explored < 20_000);
      const { verdict } = proof.results()[0]!;
      const truth = everBroken(rig, (seen) => seen.notShut(0) && seen.notShut(1), 20_000);
      if (truth === null) tally.tooLarge++;
      else {
        tally[verdict.state]++;
        if (verdict.state === 'undecided') reasons.set(verdict.reason, (reasons.get(verdict.reason) ?? 0) + 1);
        else
          expect(
            verdict.state,
            `rig ${k}: ${JSON.stringify(rig.network.elements.map((e) => [e.name, e.kind, e.inputs, e.preset?.nominal, e.response.nominal]))}`,
          ).toBe(truth ? 'refuted' : 'proved');
      }
    }
    console.log(tally, reasons);
    expect(tally.proved).toBeGreaterThan(RIGS / 10);
    expect(tally.refuted).toBeGreaterThan(RIGS / 10);
    expect(tally.undecided).toBeLessThan(RIGS / 4);
  });
});
