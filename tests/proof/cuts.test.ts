/** Stages that wait for one another: each is proved with the signal of the other cut, not with all that the other does. */
import { describe, expect, it } from 'vitest';
import { proveRig } from '../../server/core/run/prove-rig';
import { stages } from '../support/proof-rigs';
import { rigFrom } from '../support/rig';

describe('two stages of four doors, the second waiting for the first', () => {
  it('are decided in about as many states as two that do not wait', { timeout: 120_000 }, () => {
    const explored = (linked: boolean): number => {
      const { proof } = proveRig(rigFrom(stages({ doors: [4, 4], linked, loose: true, least: '400 ms' })).rig);
      while (!proof.run(200) && proof.explored < 20_000);
      expect(proof.results().map((r) => r.verdict.state)).toEqual(Array(17).fill('proved'));
      return proof.explored;
    };
    expect(explored(true)).toBeLessThan(6 * explored(false));
  });
});
