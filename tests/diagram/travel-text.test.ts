/** A door that opens and shuts in different times: every picture gives both, and none cuts them off. */
import { describe, expect, it } from 'vitest';
import { pictureOf } from '../../server/core/diagram/pictures';
import { analyseRig } from '../../server/core/run/analyse';
import { rigOf } from '../support/rigs';

const RIG = `rig two_ways "Two ways" {
  medium air
  chamber ring { volume 4 m3  pressure 1.4 bar }
  chamber can  { volume 900 L  pressure 1 bar }
  door even { pocket 20 L  travel 300 ms }
  door slow { pocket 20 L  opens_in 280 ms  closes_in 420 ms }
  stack ring > even > slow > can
  switch go = off
  signal later = TON(go, 1 s)
  drive even = go
  drive slow = later
}
`;

describe('the travel of a door', () => {
  it.each(['timing', 'section'] as const)('stands both ways in the picture: %s', (panel) => {
    const facts = analyseRig(rigOf(RIG));
    const svg = pictureOf(facts, panel, { look: 'light', width: 1000, stroke: facts.timing.strokes[0]! })!;
    const texts = svg.replace(/<[^>]*>/g, '\n');
    expect(texts).toContain('travel 300 ms');
    expect(texts).toContain('opens 280 ms, shuts 420 ms');
    expect(texts).not.toContain('…');
  });
});
