/** Proofs of drawn rigs beside the exhaustive exploration of the same rigs. */
import { expect } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { createProof } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import type { Random } from '../../server/core/timing/tolerance';
import { randomProperties, rigWords } from './random-rig';
import { truths } from './trackers';

/** How far the proof and the exploration go, in states. */
export interface Reach {
  readonly proof: number;
  readonly truth: number;
  /** The part of what is decided that may stay undecided; a tenth where left out. */
  readonly open?: number;
}

/** No verdict is contradicted; of what the exploration decides, a third of the number of rigs is proved and as much refuted, few undecided. */
export function expectAsExplored(random: Random, rigs: number, drawn: (random: Random) => Rig, reach: Reach): void {
  const tally = { proved: 0, refuted: 0, undecided: 0 };
  for (let k = 0; k < rigs; k++) {
    const rig = drawn(random);
    const properties = randomProperties(random, rig);
    const proof = createProof(rig, properties, { initial: initialInputs(rig) });
    while (!proof.run(200) && proof.explored < reach.proof);
    const truth = truths(rig, properties, reach.truth);
    proof.results().forEach(({ property, verdict: { state } }, p) => {
      if (truth[p] === null) return;
      tally[state]++;
      const asked = JSON.stringify(property, (_, v: unknown) => (v instanceof Map ? [...v] : v));
      expect([truth[p] ? 'refuted' : 'proved', 'undecided'], `rig ${k}: ${rigWords(rig)} ${asked}`).toContain(state);
    });
  }
  if (process.env['PROOF_RIGS']) console.log(tally);
  expect(tally.proved).toBeGreaterThan(rigs / 3);
  expect(tally.refuted).toBeGreaterThan(rigs / 3);
  expect(tally.undecided).toBeLessThan((tally.proved + tally.refuted) * (reach.open ?? 0.1));
}
