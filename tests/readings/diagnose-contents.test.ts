/** Feeds and draws that deliver nothing or too little, which no door and no signal shows: found in masses, pressures and levels. */
import { describe, expect, it } from 'vitest';
import { positionAt } from '../../server/core/model/motion';
import type { Sensed } from '../../server/core/model/rig';
import { asDesigned, diagnose } from '../../server/core/readings/diagnose';
import { faultReport } from '../../server/core/readings/faults';
import { readLog } from '../../server/core/readings/log-csv';
import { stimulusOf } from '../../server/core/readings/stimulus';
import { analyseRig } from '../../server/core/run/analyse';
import { faultsText } from '../../server/core/report/readings-report';
import { seeded } from '../support/random';
import { rigOf } from '../support/rigs';
import { contentsAlong, normal, pathOf } from '../support/synthetic-log';

const tail = `
  door flap { travel 400 ms }
  switch go = off
  signal flap_on = TP(go, 2 s)
  drive flap = flap_on
}`;

interface Kind {
  /** `feed` and `draw`: parts of the stated rate. */
  readonly text: (feed: number, draw: number) => string;
  readonly sensed: Sensed;
  readonly unit: string;
  readonly factor: number;
  readonly noise: number;
}

const KINDS: Readonly<Record<string, Kind>> = {
  'masses of a packed medium': {
    text: (feed, draw) => `rig silo {
  medium grit packed
  chamber bin { volume 8 m3  mass 140 kg }
  chamber drum { volume 8 m3  mass 60 kg }
  stack bin > flap > drum { moves 20 % }
  feed chute into bin { rate ${(1.2 * feed).toFixed(6)} kg/s }
  draw screw from drum { rate ${(0.6 * draw).toFixed(6)} kg/s }${tail}`,
    sensed: 'mass',
    unit: 'kg',
    factor: 1,
    noise: 0.2,
  },
  'pressures of a gas': {
    text: (feed, draw) => `rig bench {
  medium air
  chamber bin { volume 900 L  pressure 3 bar }
  chamber drum { volume 400 L  pressure 2 bar }
  stack bin > flap > drum { moves 10 % }
  feed chute into bin { rate ${(60 * feed).toFixed(6)} g/s }
  draw screw from drum { rate ${(20 * draw).toFixed(6)} g/s }${tail}`,
    sensed: 'pressure',
    unit: 'bar',
    factor: 1e5,
    noise: 0.01,
  },
  'levels of a liquid': {
    text: (feed, draw) => `rig tanks {
  medium water
  chamber bin { volume 4 m3  floor_area 2 m2  level 0.8 m }
  chamber drum { volume 4 m3  floor_area 2 m2  level 0.6 m }
  stack bin > flap > drum { moves 10 % }
  feed chute into bin { rate ${(6 * feed).toFixed(6)} kg/s }
  draw screw from drum { rate ${(4 * draw).toFixed(6)} kg/s }${tail}`,
    sensed: 'level',
    unit: 'm',
    factor: 1,
    noise: 0.002,
  },
};

/** A minute with one stroke after 20 s, read twice a second. */
function found({ text, sensed, unit, factor, noise }: Kind, feed: number, draw: number, seed: number) {
  const random = seeded(seed);
  const rig = rigOf(text(1, 1));
  const path = pathOf([[20e6, 22e6]], 400e3, 400e3);
  const times = Array.from({ length: 240 }, (_, k) => k * 250_000);
  const read = [0, 1].map((chamber) => ({ chamber, sensed }));
  const rows = contentsAlong(rigOf(text(feed, draw)), [path], times, read).map((values, k) =>
    [
      times[k]! / 1e6,
      positionAt(path, times[k]!).toFixed(3),
      ...values.map((v) => (v / factor + noise * normal(random)).toFixed(4)),
    ].join(','),
  );
  const log = readLog(rig, [`time [s],flap,bin ${sensed} [${unit}],drum ${sensed} [${unit}]`, ...rows].join('\n'));
  if (!log.ok) throw new Error(log.problems[0]!.message);
  const stimulus = stimulusOf(rig, analyseRig(rig).timing, log.log, null)!;
  return diagnose(rig, log.log, stimulus).ranking[0]!.modes;
}

describe.each(Object.entries(KINDS))('from %s', (_, kind) => {
  it.each([
    [1, 1, asDesigned()],
    [1e-5, 1, 'feed chute dead'],
    [1, 1e-5, 'draw screw dead'],
    [0.5, 1, 'feed chute at 50 % of its rate'],
    [1, 2, 'draw screw at 200 % of its rate'],
  ])('feed at %d and draw at %d of their rates: %s', (feed, draw, mode) => {
    for (const seed of [1, 2, 3]) expect(found(kind, feed, draw, seed)).toEqual([mode]);
  });
});

it('faults lists a feed and a draw that nothing switches, standing still', () => {
  const report = faultReport(analyseRig(rigOf(KINDS['masses of a packed medium']!.text(1, 1))))!;
  const dead = report.effects.find((e) => e.fault.mode === 'feed chute dead')!;
  expect(report.classes[dead.class]!.neverRun).toEqual(['feed chute']);
  expect(faultsText(report).join('\n')).toMatch(/draw screw dead/);
});
