/** Least on and off times of inputs: what they keep from happening is proved, what they allow is refuted, and they cost few states. */
import { describe, expect, it } from 'vitest';
import { proveRig } from '../../server/core/run/prove-rig';
import { fan } from '../support/proof-rigs';
import { rigFrom } from '../support/rig';

function prove(text: string) {
  const { proof } = proveRig(rigFrom(text).rig);
  while (!proof.run(500) && proof.explored < 20_000);
  return proof;
}

/** The front door opens for 400 ms when the sensor, on at the start, goes on; the back door 600 ms after it goes off. */
const lock = (least: string): string => `
rig lock {
  medium air
  chamber hall { volume 1 m3  pressure 3 bar }
  chamber yard { volume 1 m3  pressure 1 bar }
  door front { pocket 1 L  travel 50 ms }
  door back { pocket 1 L  travel 50 ms }
  stack hall > front > back > yard
  controller { response 10 ms }
  sensor full on hall { pressure above 2 bar  clears below 1.5 bar  ${least} }
  drive front = TP(full, 400 ms)
  drive back = TP(TON(not full, 600 ms), 200 ms)
}`;

describe('least times', () => {
  const verdict = (least: string) =>
    prove(lock(least))
      .results()
      .find((r) => r.property.kind === 'straight-through')!.verdict;

  // Off from 0, the back door is off its seat from 0.62 to 0.87 s; the front one leaves its seat when the sensor goes on again.
  it('keep doors apart', () => expect(verdict('min_off 900 ms').state).toBe('proved'));

  it('are kept by the counter-examples that they allow', () => {
    const found = verdict('min_on 200 ms  min_off 700 ms');
    if (found.state !== 'refuted') throw new Error(JSON.stringify(found));
    const { operations } = found.witness;
    for (let k = 1; k < operations.length; k++) {
      const least = operations[k]!.value ? 700_000 : 200_000;
      expect(operations[k]!.t - operations[k - 1]!.t).toBeGreaterThanOrEqual(least);
    }
  });

  it('cost no more than three times the states', () => {
    const without = prove(fan({ doors: 3, loose: true })).explored;
    const proof = prove(fan({ doors: 3, loose: true, least: '400 ms' }));
    expect(proof.results().every((r) => r.verdict.state === 'proved')).toBe(true);
    expect(proof.explored).toBeLessThan(without * 3);
  });
});
