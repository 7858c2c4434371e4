/** A leak comes back from pressures (of water: levels) read while the door is shut, in the unit that the door states it in. */
import { describe, expect, it } from 'vitest';
import { fitRig } from '../../server/core/readings/fit';
import { readLog } from '../../server/core/readings/log-csv';
import { analyseRig } from '../../server/core/run/analyse';
import { rigOf } from '../support/rigs';

const TEXT = (leak: string): string => `rig still {
  medium air
  chamber tank { volume 50 L  pressure 6 bar }
  chamber bell { volume 20 L  pressure 1 bar }
  door gate { pocket 1 L  travel 200 ms  bore 20 mm  leak ${leak} }
  stack tank > gate > bell
  controller { response 20 ms }
  switch open_up = off
  drive gate = open_up
}`;

/**
 * Two vessels of 50 and 20 L at 20 degC joined by 1.24 mm2 (2 mm2 sharp-edged, 0.62), integrated here with the equation of
 * Saint-Venant and Wantzel (choked below 0.5283) in steps of 5 ms: no code of ours.
 */
function log(): string {
  const [R, T, k] = [287.05, 293.15, 1.4];
  const [Va, Vb] = [0.05, 0.02];
  let [pa, pb] = [6e5, 1e5];
  const rows = ['time [s],gate,tank pressure [bar],bell pressure [bar]'];
  const dt = 0.005;
  for (let i = 0; i <= 60 / dt; i++) {
    if (i % (2 / dt) === 0) rows.push(`${(i * dt).toFixed(0)},0,${(pa / 1e5).toFixed(4)},${(pb / 1e5).toFixed(4)}`);
    const r = Math.max(pb / pa, 0.5282818);
    const flow =
      1.24e-6 * pa * Math.sqrt((2 * k) / (k - 1) / (R * T)) * Math.sqrt(Math.max(0, r ** (2 / k) - r ** ((k + 1) / k)));
    pa -= (flow * R * T * dt) / Va;
    pb += (flow * R * T * dt) / Vb;
  }
  return rows.join('\n');
}

describe('a leak of 2 mm2', () => {
  it.each([
    ['1 mm2', /^(1\.9[89]|2|2\.0[01])\d* mm2$/, 2e-6],
    // 1.24 mm2 of 314.16 mm2, in parts of a bore with 0.62 of its own.
    ['0.2 %', /^0\.6[34]\d* %$/, 2e-6 / 3.1416e-4],
  ])('stated as %s', (stated, literal, truth) => {
    const rig = rigOf(TEXT(stated));
    const reading = readLog(rig, log());
    if (!reading.ok) throw new Error(reading.problems[0]!.message);
    const { properties } = fitRig(analyseRig(rig), reading.log, ['leak']);
    const [leak] = properties.filter((p) => p.property === 'leak');
    expect(leak!.literal).toMatch(literal);
    expect(Math.abs(leak!.fitted.value / truth - 1)).toBeLessThan(0.01);
  });

  it('stated as a conductance is written as one', () => {
    const rig = rigOf(TEXT('0.1 L/s/bar'));
    const reading = readLog(rig, log());
    if (!reading.ok) throw new Error(reading.problems[0]!.message);
    const [leak] = fitRig(analyseRig(rig), reading.log, ['leak']).properties;
    // ISO 6358: C = 1.24 mm2 · 0.6847 · √(287.05 · 293.15) / 1e5 Pa at its reference, by the choked part within 5 %.
    expect(leak!.literal).toMatch(/^0\.(2[3-9]|3[01])\d* L\/s\/bar$/);
  });
});

/**
 * Two tanks of 2 m2 with 1 m and 0 m of water at first, a sharp edge of 1 cm2 (0.62) between them: Torricelli's law gives the difference
 * of levels √h = √(1 m) − 6.2e-5 m2 · √(2g) · t / 2 m2. Read every 20 s for an hour.
 */
it('a leak of water of 1 cm2 comes back from levels', () => {
  const rows = Array.from({ length: 181 }, (_, k) => {
    const h = (1 - (6.2e-5 * Math.sqrt(2 * 9.80665) * 20 * k) / 2) ** 2;
    return `${20 * k},0,${((1 + h) / 2).toFixed(5)},${((1 - h) / 2).toFixed(5)}`;
  });
  const rig = rigOf(`rig tanks {
  medium water
  chamber left { volume 4 m3  floor_area 2 m2  level 1 m }
  chamber right { volume 4 m3  floor_area 2 m2 }
  door gate { travel 200 ms  bore 80 mm  leak 0.5 cm2 }
  stack left > gate > right
  switch open_up = off
  drive gate = open_up
}`);
  const reading = readLog(rig, ['time [s],gate,left level [m],right level [m]', ...rows].join('\n'));
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const [leak] = fitRig(analyseRig(rig), reading.log, ['leak']).properties;
  expect(Math.abs(leak!.fitted.value / 1e-4 - 1)).toBeLessThan(0.002);
});
