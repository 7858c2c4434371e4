/**
 * Every printed counter-example, followed: its operations at their printed times, in the event engine from where it counts, must break the rig
 * at the printed moment. Small random rigs (`PROOF_SEED`, `PROOF_RIGS`), and the samples that are refuted.
 */
import { describe, expect, it } from 'vitest';
import type { Rig } from '../../server/core/model/rig';
import { createProof, type Proof } from '../../server/core/proof/prove';
import { brokenAt } from '../../server/core/proof/trace-property';
import type { Witness } from '../../server/core/proof/witness';
import { createEngine, initialInputs } from '../../server/core/timing/engine';
import { engineAtRest } from '../../server/core/timing/rest';
import { seededRandom } from '../../server/core/timing/tolerance';
import type { Trace } from '../../server/core/timing/trace';
import { randomProperties, randomSmallRig, rigWords } from '../support/random-rig';

const SEED = Number(process.env['PROOF_SEED'] ?? 4711);
const RIGS = Number(process.env['PROOF_RIGS'] ?? 40);

/** A counter-example followed by its printed operations and times alone. */
function follow(rig: Rig, { network }: Proof, witness: Witness): Trace {
  const time = (what: string, index: number, nominal: number): number =>
    witness.durations.find((d) => d.what === what && d.index === index)?.time ?? nominal;
  const times = {
    preset: (e: number) => time('preset', e, rig.network.elements[e]!.preset?.nominal ?? 0),
    response: (e: number) => time('response', e, rig.network.elements[e]!.response.nominal),
    opensIn: (d: number) => time('opens', d, rig.doors[d]!.opensIn.nominal),
    closesIn: (d: number) => time('closes', d, rig.doors[d]!.closesIn.nominal),
  };
  const inputs = initialInputs(rig);
  const engine =
    witness.from === 'rest' ? engineAtRest(rig, inputs, 200_000, times) : createEngine(rig, { inputs, times });
  for (const { t, input, value } of witness.operations) engine.setInput(network.inputs[input]!.net, value, t);
  engine.advanceTo(witness.end + 1);
  engine.advanceTo(Math.max(engine.now, engine.doorsArrive() + 1));
  return engine.trace();
}

/** What is looked at in the end of a run is no question of one moment. */
const AT_ONCE = ['never', 'straight-through', 'power-loss', 'trapped-pocket', 'gap', 'order'];

describe(`counter-examples of ${RIGS} random rigs, seed ${SEED}`, () => {
  it('break the rig at the printed moment, and need every operation', { timeout: 600_000 }, () => {
    const random = seededRandom(SEED);
    let followed = 0;
    for (let k = 0; k < RIGS; k++) {
      const rig = randomSmallRig(random);
      const properties = randomProperties(random, rig).filter((p) => AT_ONCE.includes(p.kind));
      const proof = createProof(rig, properties, { initial: initialInputs(rig) });
      while (!proof.run(100) && proof.explored < 300);
      for (const { property, verdict } of proof.results()) {
        if (verdict.state !== 'refuted') continue;
        const { witness } = verdict;
        const trace = follow(rig, proof, witness);
        const what = `rig ${k}: ${rigWords(rig)} ${property.name} ${JSON.stringify(witness)}`;
        expect(brokenAt(property, rig, trace), what).toBe(witness.end);
        followed++;
      }
    }
    expect(followed).toBeGreaterThan(RIGS / 4);
  });
});
