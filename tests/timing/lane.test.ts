/** The queue that changes of one response wait in: first in, first out, whole, however many and wherever in its ring they lie. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Changes, Lane } from '../../server/core/timing/lane';

type Entry = readonly [time: number, change: number, cause: number, preset: number];

const entry = fc.tuple(fc.nat(1e9), fc.nat(1e6), fc.integer({ min: -1, max: 1e6 }), fc.nat(1e9));
/** An entry is pushed, `null` takes the first one out. */
const course = fc.array(fc.option(entry, { freq: 3 }), { maxLength: 200, size: 'max' });

/** Does to a lane and to a plain list the same, and gives what came out of both, with what is left in them. */
function both(steps: readonly (Entry | null)[]) {
  const lane = new Lane();
  const list: Entry[] = [];
  const out = new Changes();
  const expected: Entry[] = [];
  for (const step of steps) {
    if (step) {
      lane.push(...step);
      list.push(step);
    } else if (list.length > 0) {
      lane.popInto(out);
      expected.push(list.shift()!);
    }
  }
  return { lane, list, out, expected };
}

describe('a lane', () => {
  it('gives every change as it was pushed, in that order', () => {
    fc.assert(
      fc.property(course, (steps) => {
        const { lane, list, out, expected } = both(steps);
        expect(lane.save()).toEqual(list.flat());
        expect([lane.size, lane.headTime]).toEqual([list.length, list[0]?.[0] ?? Infinity]);
        const rows = Array.from({ length: out.count }, (_, k) => [out.change[k], out.cause[k], out.preset[k]]);
        expect(rows).toEqual(expected.map(([, ...rest]) => rest));
      }),
    );
  });

  it('moves all times by a new zero, and keeps the causes that it is given', () => {
    fc.assert(
      fc.property(course, fc.integer({ min: -1000, max: 1000 }), (steps, by) => {
        const { lane, list } = both(steps);
        lane.rebase(by, (cause) => cause + 1);
        expect(lane.save()).toEqual(list.flatMap(([t, change, cause, preset]) => [t + by, change, cause + 1, preset]));
        lane.rebase(0);
        expect(lane.save()).toEqual(list.flatMap(([t, change, , preset]) => [t + by, change, -1, preset]));
      }),
    );
  });

  it('is read back from what it saved', () => {
    fc.assert(
      fc.property(course, (steps) => {
        const other = new Lane();
        const { lane, list } = both(steps);
        other.push(1, 2, 3, 4);
        other.load(lane.save());
        expect(other.save()).toEqual(list.flat());
        const asked = list.at(-1)?.[1] ?? -2;
        expect([other.some((change) => change === asked), other.some(() => false)]).toEqual([list.length > 0, false]);
      }),
    );
  });
});

it('changes of one step are sorted by net, those of one net as they were entered', () => {
  fc.assert(
    fc.property(fc.array(fc.tuple(fc.nat(9), fc.nat(99), fc.nat(99)), { maxLength: 60, size: 'max' }), (rows) => {
      const changes = new Changes();
      for (const row of rows) changes.add(...row);
      changes.sort();
      const sorted = [...rows].sort((a, b) => (a[0] >> 1) - (b[0] >> 1));
      const found = rows.map((_, k) => [changes.change[k], changes.cause[k], changes.preset[k]]);
      expect(found).toEqual(sorted);
    }),
  );
});
