import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { MotionPath } from '../../server/core/model/motion';
import { headingAt, notShutAt, pieceOf, positionAt, positionBefore } from '../../server/core/model/motion';

/** Opens at 100 in 400 µs, turns round half way at 300, is shut at 500; opens at once at 900. */
const TURNED: MotionPath = {
  initial: 0,
  moves: [
    { t: 100, from: 0, to: 1, arrives: 500 },
    { t: 300, from: 0.5, to: 0, arrives: 500 },
    { t: 900, from: 0, to: 1, arrives: 900 },
  ],
};

describe('a door on the move', () => {
  it.each([
    // t, just before, just after, off its seat, heading
    [0, 0, 0, false, null],
    [100, 0, 0, true, 1],
    [200, 0.25, 0.25, true, 1],
    [300, 0.5, 0.5, true, 0],
    [400, 0.25, 0.25, true, 0],
    [500, 0, 0, false, null],
    [900, 0, 1, true, null],
    [1000, 1, 1, true, null],
  ])('at %d', (t, before, after, open, heading) => {
    expect(positionBefore(TURNED, t)).toBe(before);
    expect(positionAt(TURNED, t)).toBe(after);
    expect(notShutAt(TURNED, t)).toBe(open);
    expect(headingAt(TURNED, t)).toBe(heading);
  });

  it('does in a piece what it does in the whole', () => {
    const times = fc.tuple(fc.nat(1100), fc.nat(1100));
    fc.assert(
      fc.property(times, ([from, more]) => {
        const piece = pieceOf(TURNED, from, 2000);
        expect(positionAt(piece, more)).toBeCloseTo(positionAt(TURNED, from + more), 12);
        expect(notShutAt(piece, more)).toBe(notShutAt(TURNED, from + more));
        expect(headingAt(piece, more)).toBe(headingAt(TURNED, from + more));
      }),
    );
  });
});
