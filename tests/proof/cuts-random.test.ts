/**
 * Cut networks (server/core/proof/cuts.ts) and searches that join states (explore.ts) may do more than the rig, never less: what one of them covers without finding a
 * break must hold in the independent exhaustive exploration of the whole rig. Every cut counts here, however little it saves. `PROOF_SEED` and `PROOF_RIGS` as in rig-random.test.ts.
 */
import { describe, expect, it } from 'vitest';
import { cutCones } from '../../server/core/proof/cuts';
import { loosened, proofNetwork } from '../../server/core/proof/network';
import { partsOf, piecesOf } from '../../server/core/proof/parts';
import { zoneSearch } from '../../server/core/proof/searches';
import { watchedBy } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import { seededRandom } from '../../server/core/timing/tolerance';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';
import { truths } from '../support/trackers';

const SEED = Number(process.env['PROOF_SEED'] ?? 20261);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 60);
const STATES = 1_200;

describe(`cut networks and joined states against exhaustive exploration, ${RIGS} rigs, seed ${SEED}`, () => {
  it('allow whatever breaks the rig', { timeout: 3_600_000 }, () => {
    const random = seededRandom(SEED);
    let sound = 0;
    let cuts = 0;
    for (let k = 0; k < RIGS; k++) {
      const rig = randomSmallRig(random);
      const properties = randomProperties(random, rig).filter(({ kind }) => kind !== 'switched-off');
      if (rig.controller.style === 'scan') continue;
      const truth = truths(rig, properties, STATES);
      const start = { initial: initialInputs(rig) };
      for (const part of partsOf(rig, piecesOf(rig, properties))) {
        const asked = part.pieces.map(({ property }) => property);
        for (const cone of [part.cone, ...cutCones(rig, part, 1)]) {
          if (cone === null) continue;
          if (cone.cuts) cuts++;
          const network = proofNetwork(rig, start, watchedBy(asked), cone);
          for (const explored of [network, loosened(network)]) {
            const search = zoneSearch(rig, asked, network, explored, 'always');
            if (!search.exploration.run(1_500) || search.exploration.trouble !== null) continue;
            for (const property of asked.filter(({ name }) => search.found(name) === 0)) {
              const broken = truth[properties.indexOf(property)];
              expect(
                broken,
                `rig ${k}: ${rigWords(rig)} ${property.name} cut ${[...(cone.cuts ?? [])].join()}`,
              ).not.toBe(true);
              if (broken === false) sound++;
            }
          }
        }
      }
    }
    if (process.env['PROOF_SEED'] ?? process.env['PROOF_RIGS']) console.log({ cuts, sound });
    expect(cuts).toBeGreaterThan(RIGS / 10);
    expect(sound).toBeGreaterThan(RIGS / 10);
  });
});
