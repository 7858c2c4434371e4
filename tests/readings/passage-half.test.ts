/** Passages read only a few times on the way: when they pass the half, and the travel that they have together. */
import { describe, expect, it } from 'vitest';
import { commonTravel, passingOf } from '../../server/core/readings/passage-half';
import { movementsOf } from '../../server/core/readings/movements';
import { readLog } from '../../server/core/readings/log-csv';
import { positionAt } from '../../server/core/model/motion';
import { seeded } from '../support/random';
import { rigOf } from '../support/rigs';
import { normal, pathOf } from '../support/synthetic-log';

/** A passage of 400 ms that begins at `from` ms, read every 250 ms from −1 s on. */
const read = (from: number) =>
  Array.from({ length: 12 }, (_, k) => {
    const t = 250 * (k - 4);
    return { t: 1000 * t, x: Math.min(1, Math.max(0, (t - from) / 400)) };
  });

describe('one passage with a known travel', () => {
  // By hand: 0.6225 at 250 ms of a passage that begins at 1 ms; the half 200 ms after the beginning.
  it.each([1, 40, 99, 150, 200, 249])('that begins %d ms after a reading', (from) => {
    const found = passingOf(read(from), 400_000, 0, 1e-6)!;
    expect(found.half).toBeCloseTo(1000 * (from + 200), 3);
    const inside = read(from).filter(({ x }) => x > 0 && x < 1).length;
    expect(found.shift).toBeCloseTo(400_000 ** 2 / inside, 0);
  });

  it('says nothing where no reading is on the way', () => {
    expect(
      passingOf(
        [
          { t: 0, x: 0 },
          { t: 250_000, x: 1 },
        ],
        100_000,
        0,
        0.01,
      ),
    ).toBeNull();
  });
});

describe('the travel of several passages', () => {
  it('is found exactly without noise, though some show one reading on the way', () => {
    const found = commonTravel([1, 40, 99, 150, 200, 249].map(read), 1e-6, 1e-3)!;
    expect(found.takes).toBeCloseTo(400_000, -1);
  });

  it('is not known where each shows one reading alone', () => {
    const found = commonTravel([20, 50, 80].map(read), 1e-6, 1e-3)!;
    // 13 to 25 % of the travel and more, for a noise of 2 %.
    expect(0.02 * Math.sqrt(found.spread)).toBeGreaterThan(0.1 * 400_000);
  });
});

it('doors of a log read every 250 ms begin to move when they did, without bias, wherever between two readings that was', () => {
  const rig = rigOf(`rig lift {
  chamber bin {}
  chamber drum {}
  door flap { travel 400 ms }
  stack bin > flap > drum
  switch go = off
  drive flap = go
}`);
  const byPhase = [0, 0, 0, 0].map(() => ({ sum: 0, square: 0, n: 0 }));
  for (let seed = 1; seed <= 40; seed++) {
    const random = seeded(seed);
    const openings = Array.from({ length: 6 }, (_, k): [number, number] => {
      const from = Math.round(2e6 + 4e6 * k + 1e6 * random());
      return [from, from + 1_500_000];
    });
    const path = pathOf(openings, 400_000, 400_000);
    const rows = Array.from({ length: 110 }, (_, k) => {
      const x = positionAt(path, k * 250_000) + 0.004 * normal(random);
      return `${(k / 4).toFixed(2)},${x.toFixed(4)}`;
    });
    const reading = readLog(rig, `time [s],flap\n${rows.join('\n')}`);
    if (!reading.ok) throw new Error(reading.problems[0]!.message);
    const found = movementsOf(rig, reading.log, null, new Set())!.doors[0]!.moves.filter((m) => m.to === 1);
    openings.forEach(([from], k) => {
      const off = (found[k]!.t - from) / 1000;
      const phase = byPhase[Math.floor((from % 250_000) / 62_500)]!;
      phase.sum += off;
      phase.square += off * off;
      phase.n++;
    });
  }
  // Noise of 0.4 % of 400 ms is 1.6 ms; lines through ends put the beginning up to 30 ms off right after a reading.
  for (const { sum, square, n } of byPhase) {
    expect(Math.abs(sum / n)).toBeLessThan(1.5);
    expect(Math.sqrt(square / n)).toBeLessThan(8);
  }
});
