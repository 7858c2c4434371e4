/** Stated intervals of travels and flow hold the truth as often as they say. */
import { describe, it } from 'vitest';
import { positionAt } from '../../server/core/model/motion';
import { between, expectCoverage, LOGS, whole, type CoverageCase } from '../support/coverage';
import type { Random } from '../support/random';
import { rigOf } from '../support/rigs';
import { contentsAlong, normal, pathOf } from '../support/synthetic-log';

const travelCase = (random: Random, level: number): CoverageCase =>
  travelled(random, [0.002, 0.01, 0.03][level]!, whole(between(random, 15e3, 60e3)), 4);

/** Two or three readings on the way of most passages, one or none on that of some. */
const seldomCase = (random: Random, level: number): CoverageCase =>
  travelled(random, [0.002, 0.005, 0.015][level]!, whole(between(random, 200e3, 260e3)), 9, 500e3);

function travelled(random: Random, noise: number, step: number, passages: number, least = 180e3): CoverageCase {
  const [opens, closes] = [whole(between(random, least, 900e3)), whole(between(random, least, 900e3))];
  let t = between(random, 0.4e6, 0.8e6);
  const openings = Array.from({ length: passages }, (): [number, number] => {
    const from = whole(t);
    const to = whole(from + opens + Math.max(step, between(random, 0.4e6, 0.9e6)));
    t = to + closes + Math.max(step, between(random, 0.4e6, 0.9e6));
    return [from, to];
  });
  const path = pathOf(openings, opens, closes);
  const clipped = random() < 0.3;
  const rows: string[] = [];
  for (let k = 0; k * step < t; k++) {
    const x = positionAt(path, k * step) + noise * normal(random);
    rows.push(`${((k * step) / 1e6).toFixed(6)},${(clipped ? Math.min(1, Math.max(0, x)) : x).toFixed(4)}`);
  }
  return {
    text: TRAVEL,
    only: 'travel',
    log: `time [s],flap\n${rows.join('\n')}`,
    truths: { 'flap opens_in': opens, 'flap closes_in': closes },
  };
}

const TRAVEL = `rig lift {
  chamber bin {}
  chamber drum {}
  door flap { travel 400 ms }
  stack bin > flap > drum
  switch go = off
  drive flap = go
}`;

const hopper = (share: number): string => `rig hopper {
  medium grit packed
  chamber bin { volume 8 m3  mass 140 kg }
  chamber drum { volume 8 m3  mass 30 kg }
  door flap { travel 400 ms }
  stack bin > flap > drum { moves ${(100 * share).toFixed(4)} % }
  feed chute into bin { rate 1.2 kg/s }
  draw screw from drum { rate 0.6 kg/s }
  switch go = off
  drive flap = go
}`;

function movesCase(random: Random, level: number): CoverageCase {
  const noise = [0.001, 0.005, 0.01][level]!;
  const share = between(random, 0.08, 0.35);
  const strokes = whole(between(random, 5, 9));
  const openings = Array.from({ length: strokes }, (_, k): [number, number] => {
    const from = whole(4e6 + 9e6 * k + between(random, 0, 2e6));
    return [from, from + 2_000_000];
  });
  const path = pathOf(openings, 400_000, 400_000);
  const step = 250_000;
  const times = Array.from({ length: whole((4e6 + 9e6 * strokes) / step) }, (_, k) => k * step);
  const rig = rigOf(hopper(share));
  const read = [0, 1].map((chamber) => ({ chamber, sensed: 'mass' as const }));
  const rows = contentsAlong(rig, [path], times, read).map((masses, k) => {
    const x = positionAt(path, times[k]!) + 0.004 * normal(random);
    const cells = masses.map((m) => (m * (1 + noise * normal(random))).toFixed(3));
    return [(times[k]! / 1e6).toFixed(2), x.toFixed(4), ...cells].join(',');
  });
  return {
    text: hopper(0.2),
    only: 'moves',
    log: `time [s],flap,bin mass [kg],drum mass [kg]\n${rows.join('\n')}`,
    truths: { 'bin > drum moves': share },
  };
}

/** The fraction falls while the door stands open, at one place within the step of the log at every stroke; integrated here. */
function lateMovesCase(random: Random, level: number, grain = 1): CoverageCase {
  const noise = [0.0001, 0.001, 0.005][level]!;
  const share = between(random, 0.08, 0.35);
  const strokes = whole(between(random, 5, 9));
  const from = grain * whole(between(random, 4e6, 5e6) / grain);
  const openings = Array.from({ length: strokes }, (_, k): [number, number] => [
    from + 9e6 * k,
    from + 9e6 * k + 2_500_000,
  ]);
  const path = pathOf(openings, 400_000, 400_000);
  const late = grain * whole(between(random, 0.75e6, 1.6e6) / grain);
  const falls = openings.map(([t]) => t + late);
  const step = 250_000;
  let [bin, drum] = [between(random, 60, 140), 30];
  const rows: string[] = [];
  for (let k = 0, t = 0; t < from + 9e6 * strokes; k++, t = k * step) {
    const fall = falls.find((f) => f > t - step && f <= t);
    if (k > 0) [bin, drum] = [bin + (1.2 * step) / 1e6, drum - (0.6 * step) / 1e6];
    if (fall !== undefined) {
      const moved = share * (bin - (1.2 * (t - fall)) / 1e6);
      [bin, drum] = [bin - moved, drum + moved];
    }
    const x = positionAt(path, t) + 0.004 * normal(random);
    const cells = [bin, drum].map((m) => (m * (1 + noise * normal(random))).toFixed(4));
    rows.push([(t / 1e6).toFixed(2), x.toFixed(4), ...cells].join(','));
  }
  return {
    text: hopper(0.2),
    only: 'moves',
    log: `time [s],flap,bin mass [kg],drum mass [kg]\n${rows.join('\n')}`,
    truths: { 'bin > drum moves': share },
  };
}

const bench = (extra: string): string => `rig bench {
  medium air
  chamber vat { volume 800 L  pressure 3 bar }
  chamber jar { volume 300 L  pressure 1 bar }
  door flap { travel 400 ms  bore 14 mm  ${extra} }
  stack vat > flap > jar
  switch go = off
  drive flap = go
}`;

function dischargeCase(random: Random, level: number): CoverageCase {
  const noise = [0.0005, 0.002, 0.006][level]!;
  const value = between(random, 0.45, 0.9);
  const openings = Array.from({ length: 3 }, (_, k): [number, number] => {
    const from = whole(1e6 + 3e6 * k + between(random, 0, 0.5e6));
    return [from, from + 700_000];
  });
  const path = pathOf(openings, 400_000, 400_000);
  const times = Array.from({ length: 200 }, (_, k) => k * 50_000);
  const rig = rigOf(bench(`discharge ${value}`));
  const read = [0, 1].map((chamber) => ({ chamber, sensed: 'pressure' as const }));
  const rows = contentsAlong(rig, [path], times, read).map((pressures, k) => {
    const x = positionAt(path, times[k]!) + 0.002 * normal(random);
    const cells = pressures.map((p) => (p / 1e5 + 2 * noise * normal(random)).toFixed(5));
    return [(times[k]! / 1e6).toFixed(3), x.toFixed(4), ...cells].join(',');
  });
  return {
    text: bench(''),
    only: 'discharge',
    log: `time [s],flap,vat pressure [bar],jar pressure [bar]\n${rows.join('\n')}`,
    truths: { 'flap discharge': value },
  };
}

const still = (leak: string, pressure: number): string => `rig still {
  medium air
  chamber tank { volume 50 L  pressure ${pressure.toFixed(4)} bar }
  chamber bell { volume 20 L  pressure 1 bar }
  door gate { pocket 1 L  travel 200 ms  bore 20 mm  leak ${leak} }
  stack tank > gate > bell
  controller { response 20 ms }
  switch open_up = off
  drive gate = open_up
}`;

/** The door stays shut; in a few minutes the pressures come a good part of the way together, along a curve. */
function leakCase(random: Random, level: number): CoverageCase {
  const noise = [0.002, 0.01, 0.03][level]!;
  const value = between(random, 1e-3, 8e-3);
  const rig = rigOf(still(`${(100 * value).toFixed(6)} %`, between(random, 4, 8)));
  const times = Array.from({ length: whole(between(random, 250, 600)) }, (_, k) => k * 250_000);
  const read = [0, 1].map((chamber) => ({ chamber, sensed: 'pressure' as const }));
  const rows = contentsAlong(rig, [pathOf([], 200_000, 200_000)], times, read).map((pressures, k) => {
    const cells = pressures.map((p) => (p / 1e5 + noise * normal(random)).toFixed(5));
    return [(times[k]! / 1e6).toFixed(3), '0', ...cells].join(',');
  });
  return {
    text: still('0.1 %', 6),
    only: 'leak',
    log: `time [s],gate,tank pressure [bar],bell pressure [bar]\n${rows.join('\n')}`,
    truths: { 'gate leak': Number((100 * value).toFixed(6)) / 100 },
  };
}

const KINDS: readonly [string, (random: Random, level: number) => CoverageCase][] = [
  ['travel', travelCase],
  ['travel, seldom', seldomCase],
  ['moves', movesCase],
  ['discharge', dischargeCase],
  ['leak', leakCase],
];

describe('95 % intervals', () => {
  it.each(KINDS)(
    `of %s hold the truth in 93 to 97 % of ${LOGS} logs at each of three levels of noise`,
    expectCoverage,
    3_600_000,
  );

  it('of moves that fall while doors stand open hold the truth, at an end of a step and within one', () => {
    expectCoverage('moves, late', lateMovesCase, LOGS, 'bounds');
    const atStep = (random: Random, level: number): CoverageCase => lateMovesCase(random, level, 250_000);
    expectCoverage('moves, on step', atStep, LOGS, 'bounds');
  }, 3_600_000);
});
