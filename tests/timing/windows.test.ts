/** Windows from door tracks and what they give between doors. */
import { describe, expect, it } from 'vitest';
import type { DoorTrack } from '../../server/core/timing/trace';
import { complement, intersectAll, longest, openStretches, gapLength } from '../../server/core/timing/windows';

const move = (t: number, from: number, to: 0 | 1, arrives: number) => ({ t, from, to, arrives, cause: -1 });
const track = (initial: number, ...moves: DoorTrack['moves']): DoorTrack => ({ initial, moves });
const pairs = (list: readonly { from: number; to: number | null }[]) => list.map((x) => [x.from, x.to]);

describe('openStretches', () => {
  it('of a door that opens and shuts', () => {
    const [s, ...more] = openStretches(track(0, move(10, 0, 1, 40), move(100, 1, 0, 130)), 0, 200);
    expect(more).toEqual([]);
    expect(s.notShut).toEqual({ from: 10, to: 130 });
    expect(pairs(s.commanded)).toEqual([[10, 100]]);
    expect(pairs(s.fullyOpen)).toEqual([[40, 100]]);
    expect([s.opening, s.closing]).toEqual([0, 1]);
  });

  it('of a door that turns round before it is open, and again before it is shut', () => {
    const moves = [move(10, 0, 1, 40), move(20, 1 / 3, 0, 30), move(25, 1 / 6, 1, 50), move(60, 1, 0, 90)];
    const [s, ...more] = openStretches(track(0, ...moves), 0, 200);
    expect(more).toEqual([]);
    expect(s.notShut).toEqual({ from: 10, to: 90 });
    expect(pairs(s.commanded)).toEqual([
      [10, 20],
      [25, 60],
    ]);
    expect(pairs(s.fullyOpen)).toEqual([[50, 60]]);
  });

  it('of a door that is told to open again at the instant it is shut: two that touch', () => {
    const moves = [move(0, 0, 1, 10), move(20, 1, 0, 30), move(30, 0, 1, 40)];
    expect(pairs(openStretches(track(0, ...moves), 0, 35).map((s) => s.notShut))).toEqual([
      [0, 30],
      [30, null],
    ]);
  });

  it('of a door open from the start', () => {
    const [s] = openStretches(track(1, move(50, 1, 0, 80)), 0, 100);
    expect([s.notShut, pairs(s.commanded), pairs(s.fullyOpen), s.opening]).toEqual([
      { from: 0, to: 80 },
      [[0, 50]],
      [[0, 50]],
      -1,
    ]);
  });

  it('of a door still on its way at the end', () => {
    const [s] = openStretches(track(0, move(50, 0, 1, 80)), 0, 60);
    expect([s.notShut, s.fullyOpen]).toEqual([{ from: 50, to: null }, []]);
  });
});

describe('between lists', () => {
  const a = [
    { from: 0, to: 10 },
    { from: 20, to: 30 },
    { from: 40, to: null },
  ];
  const b = [
    { from: 5, to: 25 },
    { from: 50, to: 60 },
  ];

  it('intersections', () => {
    expect(pairs(intersectAll([a, b]))).toEqual([
      [5, 10],
      [20, 25],
      [50, 60],
    ]);
    expect(intersectAll([])).toEqual([]);
    expect(pairs(intersectAll([a]))).toEqual(pairs(a));
    expect(pairs(intersectAll([a, b, [{ from: 7, to: 22 }]]))).toEqual([
      [7, 10],
      [20, 22],
    ]);
  });

  it('windows that touch do not meet', () => {
    expect(intersectAll([[{ from: 0, to: 10 }], [{ from: 10, to: 20 }]])).toEqual([]);
    expect(gapLength([{ from: 0, to: 10 }], [{ from: 10, to: 20 }])).toBe(0);
  });

  it('complements', () => {
    expect(pairs(complement(b, 0, 100))).toEqual([
      [0, 5],
      [25, 50],
      [60, 100],
    ]);
    expect(complement([{ from: 0, to: null }], 0, 100)).toEqual([]);
  });

  it('the longest', () => {
    expect(longest(b, 100)).toBe(20);
    expect(longest(a, 100)).toBe(60);
    expect(longest([], 100)).toBeNull();
  });

  it('the shortest gap, either way round', () => {
    // 10 → 13 is 3; 21 → 30 is 9; 40 → 42 is 2.
    const first = [
      { from: 0, to: 10 },
      { from: 30, to: 40 },
    ];
    const second = [
      { from: 13, to: 21 },
      { from: 42, to: 50 },
    ];
    expect(gapLength(first, second)).toBe(2);
    expect(gapLength(second, first)).toBe(2);
    expect(gapLength(first, [])).toBeNull();
    expect(gapLength(a, b)).toBeNull();
  });
});
