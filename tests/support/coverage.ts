/**
 * How often stated intervals hold the truth: over seeded logs at three levels of noise. `COVERAGE_LOGS=500` for the long run, which prints a
 * table: coverage, bias (in stated deviations), scatter (the same; one where the deviation is right) and width (part of the value).
 */
import { expect } from 'vitest';
import { fitRig, type FitKind } from '../../server/core/readings/fit';
import { readLog } from '../../server/core/readings/log-csv';
import { analyseRig } from '../../server/core/run/analyse';
import { seeded, type Random } from './random';
import { rigOf } from './rigs';

export const LOGS = Number(process.env.COVERAGE_LOGS ?? 4);
const LEVELS = ['low', 'middle', 'high'] as const;

export interface CoverageCase {
  readonly text: string;
  readonly log: string;
  readonly only: FitKind;
  /** By `name property`. */
  readonly truths: Readonly<Record<string, number>>;
}

export const between = (random: Random, low: number, high: number): number => low + (high - low) * random();
export const whole = (v: number): number => Math.round(v);

interface Count {
  held: number;
  given: number;
  untold: number;
  /** Sums of deviations over stated ones, of their squares, and of widths over values. */
  pulls: number;
  squares: number;
  widths: number;
}

function count(make: (random: Random, level: number) => CoverageCase, level: number, logs: number): Map<string, Count> {
  const counts = new Map<string, Count>();
  for (let seed = 0; seed < logs; seed++) {
    const made = make(seeded(1000 * level + seed + 1), level);
    const rig = rigOf(made.text);
    const reading = readLog(rig, made.log);
    if (!reading.ok) throw new Error(reading.problems[0]!.message);
    const { properties } = fitRig(analyseRig(rig), reading.log, [made.only]);
    for (const [key, truth] of Object.entries(made.truths)) {
      const found = properties.find((p) => `${p.name} ${p.property}` === key)?.fitted;
      const c = counts.get(key) ?? { held: 0, given: 0, untold: 0, pulls: 0, squares: 0, widths: 0 };
      counts.set(key, c);
      if (!found) c.untold++;
      else {
        c.given++;
        if (found.interval[0] <= truth && truth <= found.interval[1]) c.held++;
        const pull = (found.value - truth) / found.deviation;
        c.pulls += pull;
        c.squares += pull ** 2;
        c.widths += (found.interval[1] - found.interval[0]) / found.value;
      }
    }
  }
  return counts;
}

/** Standard deviation of a share of so many trials that should be 95 %. */
const chance = (trials: number): number => Math.sqrt((0.05 * 0.95) / trials);

/**
 * 93 to 97 % for all figures and levels together; of each figure at each level by itself within three and a half deviations of a count of so
 * many trials (with 500 logs 91.6 to 98.4 %: among thirty figures that are right, three deviations are left by one in twelve runs), and no bias beyond half a deviation. `bounds`: what is not known lies within hard bounds, which an
 * interval takes whole: it may hold the truth always, at one of its ends.
 */
export function expectCoverage(
  kind: string,
  make: (random: Random, level: number) => CoverageCase,
  logs: number = LOGS,
  ends: 'chance' | 'bounds' = 'chance',
): void {
  const all = { held: 0, given: 0 };
  LEVELS.forEach((name, level) => {
    for (const [key, c] of count(make, level, logs)) {
      all.held += c.held;
      all.given += c.given;
      if (process.env.COVERAGE_LOGS) process.stderr.write(tableRow(kind, name, key, c));
      const about = `${key}, ${name} noise`;
      expect(c.untold, about).toBeLessThanOrEqual(0.1 * logs + 1);
      const off = ends === 'bounds' ? 0.95 - c.held / c.given : Math.abs(c.held / c.given - 0.95);
      expect(off, about).toBeLessThanOrEqual(logs >= 200 ? 3.5 * chance(c.given) : Infinity);
      const most = ends === 'bounds' ? Infinity : logs >= 200 ? 0.5 : 0.5 + 3 / Math.sqrt(c.given);
      expect(Math.abs(c.pulls / c.given), about).toBeLessThan(most);
    }
  });
  expect(all.held / all.given).toBeGreaterThanOrEqual(logs >= 200 ? 0.93 : 0.95 - 3 * chance(all.given));
  if (logs >= 200) expect(all.held / all.given).toBeLessThanOrEqual(ends === 'bounds' ? 1 : 0.97);
}

function tableRow(kind: string, level: string, key: string, c: Count): string {
  const { held, given, untold } = c;
  const bias = c.pulls / given;
  const scatter = Math.sqrt(c.squares / given - bias ** 2);
  return (
    `${kind.padEnd(14)} ${level.padEnd(6)} ${key.padEnd(18)} ${((100 * held) / given).toFixed(1).padStart(5)} % of ${given}, ` +
    `bias ${bias.toFixed(2).padStart(5)}, scatter ${scatter.toFixed(2)}, width ${((100 * c.widths) / given).toPrecision(2)} %, untold ${untold}\n`
  );
}
