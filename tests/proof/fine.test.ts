/** Questions whose answer hangs on an input not turning twice within one microsecond: decided by the search to the microsecond, as the exhaustive exploration decides them. */
import { expect, it } from 'vitest';
import { createProof } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import { seededRandom } from '../../server/core/timing/tolerance';
import { randomProperties, randomSmallRig } from '../support/random-rig';
import { truths } from '../support/trackers';

/** Rigs of one seed that the coarser searches leave in doubt. */
const SEED = 7711;
const DOUBTFUL = [5, 19, 138];

/** Of another seed, one whose exact search does not end within 40,000 states: the finer one must not wait for it. */
const ENDLESS = { seed: 441_907, rig: 68 };

it('a rig whose exact search goes on and on in doubt is decided beside it', { timeout: 600_000 }, () => {
  const random = seededRandom(ENDLESS.seed);
  for (let k = 0; k < ENDLESS.rig; k++) randomProperties(random, randomSmallRig(random));
  const rig = randomSmallRig(random);
  const properties = randomProperties(random, rig);
  const proof = createProof(rig, properties, { initial: initialInputs(rig) });
  while (!proof.run(200) && proof.explored < 15_000);
  const words = proof.results().map(({ verdict }) => verdict.state);
  const truth = truths(rig, properties, 4_000).map((broken, p) =>
    broken === null ? words[p] : broken ? 'refuted' : 'proved',
  );
  expect(words).toEqual(truth);
  expect(words).not.toContain('undecided');
});

it('rigs that the other searches leave in doubt are decided, as exhaustive exploration decides them', () => {
  const random = seededRandom(SEED);
  for (let k = 0; k <= Math.max(...DOUBTFUL); k++) {
    const rig = randomSmallRig(random);
    const properties = randomProperties(random, rig);
    if (!DOUBTFUL.includes(k)) continue;
    const proof = createProof(rig, properties, { initial: initialInputs(rig) });
    while (!proof.run(200) && proof.explored < 3_000);
    const words = proof.results().map(({ verdict }) => verdict.state);
    const truth = truths(rig, properties, 4_000).map((broken) => (broken ? 'refuted' : 'proved'));
    expect(words, `rig ${k}`).toEqual(truth);
  }
});
