/** Published models with known answers: CSMA/CD and the FDDI token ring (sources in tests/support/published.ts). */
import { describe, expect, it } from 'vitest';
import { createExploration } from '../../server/core/proof/explore';
import { automataSystem, type AutomataModel } from '../support/automaton';
import { csma, tokenRing } from '../support/published';

function isSafe(model: AutomataModel): boolean {
  const exploration = createExploration(automataSystem(model));
  while (!exploration.run(1_000) && exploration.broken.size === 0)
    if (exploration.explored > 50_000) throw new Error('not decided');
  return exploration.broken.size === 0;
}

describe('CSMA/CD with σ = 26 µs', () => {
  // The other station begins less than σ later, and the collision is heard less than σ after that: below 2σ by two units of 0.1 µs.
  it('after 2σ a station is alone on the bus', () => expect(isSafe(csma(520))).toBe(true));
  it('and not before', () => {
    expect(isSafe(csma(519))).toBe(true);
    expect(isSafe(csma(518))).toBe(false);
    expect(isSafe(csma(260))).toBe(false);
  });
});

describe('the FDDI token ring', () => {
  const ring = { synchronous: 20, target: 120 };
  it.each([2, 3])('of %i stations turns round within twice its target time', (stations) => {
    expect(isSafe(tokenRing({ ...ring, stations, most: 2 * ring.target }))).toBe(true);
  });
  // One station uses up the target; each of the others, late, still sends its synchronous part.
  it.each([2, 3])('of %i stations takes the target and the synchronous parts of the others, no more', (stations) => {
    const most = ring.target + (stations - 1) * ring.synchronous;
    expect(isSafe(tokenRing({ ...ring, stations, most }))).toBe(true);
    expect(isSafe(tokenRing({ ...ring, stations, most: most - 1 }))).toBe(false);
  });
  it('whose stations do not keep the target has no bound', () => {
    expect(isSafe(tokenRing({ ...ring, stations: 2, most: 240, isTimed: false }))).toBe(false);
  });
});
