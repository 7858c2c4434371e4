/**
 * Proofs of random rigs beside the exhaustive exploration of the same rigs, for as long as is given: `SECONDS` of processor from seed `SEED` on, `KIND` of rigs
 * (`small` as in tests/proof/rig-random, `hostile`: inputs whose turning at one instant matters), at most `RIGS` of them. `PROOF` and `TRUTH`: states that the
 * two sides may take for a rig. Ends with an error where a verdict is contradicted.
 */
import type { Rig } from '../../server/core/model/rig';
import { createProof } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import { seededRandom, type Random } from '../../server/core/timing/tolerance';
import { delayedRig, hostileRig, latchRig } from '../support/hostile-rig';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';
import { truths } from '../support/trackers';

const number = (name: string, otherwise: number): number => Number(process.env[name] ?? otherwise);
const SEED = number('SEED', 3_110_001);
const RIGS = number('RIGS', 1_500);
const SECONDS = number('SECONDS', 60);
const PROOF = number('PROOF', 1_200);
const TRUTH = number('TRUTH', 3_000);
const kinds: Readonly<Record<string, (random: Random) => Rig>> = {
  small: randomSmallRig,
  hostile: hostileRig,
  delayed: delayedRig,
  latch: latchRig,
};
const KIND = process.env['KIND'] ?? 'small';
const drawn = kinds[KIND]!;

const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};
const tally = { proved: 0, refuted: 0, undecided: 0, tooLarge: 0, wrong: 0 };
let rigs = 0;
const began = cpu();
for (; rigs < RIGS && cpu() - began < SECONDS; rigs++) {
  // A stream for each rig: the k-th of a seed is the same whatever was run before it.
  const random = seededRandom(SEED + rigs);
  const rig = drawn(random);
  const properties = randomProperties(random, rig);
  const proof = createProof(rig, properties, { initial: initialInputs(rig) });
  while (!proof.run(200) && proof.explored < PROOF);
  const truth = truths(rig, properties, TRUTH);
  proof.results().forEach(({ property, verdict }, p) => {
    if (truth[p] === null) tally.tooLarge++;
    else if (verdict.state === 'undecided') {
      tally.undecided++;
      if (process.env['WORDS'])
        console.log(`  seed ${SEED + rigs} ${property.name}: ${verdict.reason} (${truth[p] ? 'broken' : 'sound'})`);
    } else if ((verdict.state === 'refuted') === truth[p]) tally[verdict.state]++;
    else {
      tally.wrong++;
      const asked = JSON.stringify(property, (_, v: unknown) => (v instanceof Map ? [...v] : v));
      console.log(`WRONG: ${verdict.state}; seed ${SEED + rigs}\n    ${rigWords(rig)}\n    ${asked}`);
    }
  });
}
console.log(`${KIND}: ${rigs} rigs, seeds ${SEED} to ${SEED + rigs - 1}, ${(cpu() - began).toFixed(0)} s of processor`);
console.log(tally);
process.exitCode = tally.wrong > 0 ? 1 : 0;
