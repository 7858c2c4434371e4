/** Calibration gets back what a log was made with. */
import { describe, expect, it } from 'vitest';
import { startContents } from '../../server/core/flow/engine';
import { modelFlow } from '../../server/core/flow/flow-model';
import { effectiveAreas } from '../../server/core/flow/nozzle';
import { Openings } from '../../server/core/flow/openings';
import { gasPressure, strokeOn } from '../support/flow';
import type { DoorPath } from '../../server/core/flow/pattern';
import { positionAt } from '../../server/core/model/motion';
import { fitLeastSquares } from '../../server/core/readings/least-squares';
import { fitRig as fitFacts, type FitKind } from '../../server/core/readings/fit';
import { analyseRig } from '../../server/core/run/analyse';
import { readLog } from '../../server/core/readings/log-csv';
import { rigOf } from '../support/rigs';

const rig = (extra = ''): ReturnType<typeof rigOf> =>
  rigOf(`rig bench {
  medium air
  chamber source { volume 1 m3  pressure 3 bar }
  chamber store  { volume 500 L  pressure 1 bar }
  door upper { pocket 20 L  clearance 1 L  travel 400 ms  bore 20 mm ${extra} }
  door lower { pocket 20 L  clearance 1 L  travel 400 ms  bore 20 mm ${extra} }
  stack source > upper > lower > store
}`);

const fitRig = (of: ReturnType<typeof rigOf>, readings: ReturnType<typeof log>, only: FitKind[] = []) =>
  fitFacts(analyseRig(of), readings, only);

const log = (of: ReturnType<typeof rigOf>, text: string) => {
  const reading = readLog(of, text);
  if (!reading.ok) throw new Error(reading.problems[0].message);
  return reading.log;
};

/** A small reproducible disturbance in [-1, 1]. */
const noise = (k: number): number => Math.sin(12.9898 * k + 78.233 * Math.sin(k));

describe('least squares', () => {
  it('finds a and b of y = a (1 − exp(−b x)) from exact points', () => {
    const xs = [0.5, 1, 2, 3, 5, 8];
    const fit = fitLeastSquares(
      ([a, b]) => xs.map((x) => a * (1 - Math.exp(-b * x)) - 4 * (1 - Math.exp(-0.7 * x))),
      [
        { start: 1, low: 0, high: 100, step: 1e-4 },
        { start: 0.1, low: 0, high: 10, step: 1e-5 },
      ],
    );
    expect(fit.converged).toBe(true);
    expect(fit.values[0]).toBeCloseTo(4, 4);
    expect(fit.values[1]).toBeCloseTo(0.7, 5);
  });

  it('does not claim a value that the residuals do not depend on', () => {
    const fit = fitLeastSquares(() => [1, -1, 0.5], [{ start: 2, low: 0, high: 10, step: 1e-4 }]);
    expect(fit.inverse).toBeNull();
  });
});

describe('fit of a log', () => {
  it('travel times, from openings read on the way', () => {
    // Opens from 1.000 s in 350 ms and closes from 3.000 s in 520 ms; read every 50 ms.
    const at = (t: number): number => Math.max(0, Math.min(1, (t - 1) / 0.35, t < 3 ? 1 : 1 - (t - 3) / 0.52));
    const rows = Array.from({ length: 101 }, (_, k) => `${(k * 0.05).toFixed(2)},${at(k * 0.05).toFixed(5)}`);
    const { properties } = fitRig(rig(), log(rig(), `time [s],upper\n${rows.join('\n')}`));
    const found = Object.fromEntries(properties.map((p) => [p.property, p.literal]));
    expect(found).toEqual({ opens_in: '350 ms', closes_in: '520 ms' });
  });

  it('no travel from one reading on the way, however exact and however often repeated', () => {
    // Opens from 2.3 s in 980 ms, shuts from 5.5 s in 980 ms, every 8 s; read every second.
    const at = (t: number): number => Math.max(0, Math.min(1, (t - 2.3) / 0.98, 1 - (t - 5.5) / 0.98));
    const rows = Array.from({ length: 30 }, (_, k) => `${k},${at(k % 8).toFixed(4)}`);
    const { properties, untold } = fitRig(rig(), log(rig(), `time [s],upper\n${rows.join('\n')}`), ['travel']);
    expect(properties).toEqual([]);
    expect(untold.map((u) => u.property)).toEqual(['opens_in', 'closes_in']);
    expect(untold[0].why).toContain('too few moments on the way');
  });

  it('the fraction moved per stroke, to its scatter', () => {
    // 24 % of what is upstream, read with 0.1 % of noise; a stroke every 10 s.
    const rows: string[] = [];
    let upstream = 200;
    for (let k = 0; k <= 10; k++) {
      rows.push(
        `${10 * k},0,${(upstream + 0.02 * noise(k)).toFixed(3)}`,
        `${10 * k + 1},1,${upstream.toFixed(3)}`,
        `${10 * k + 2},0,${(upstream * 0.76).toFixed(3)}`,
      );
      upstream *= 0.76;
    }
    const { properties } = fitRig(rig(), log(rig(), `time [s],upper,source mass [kg]\n${rows.join('\n')}`), ['moves']);
    const moves = properties.find((p) => p.property === 'moves')!;
    expect(moves.fitted.value).toBeCloseTo(0.24, 3);
    expect(Math.abs(moves.fitted.value - 0.24)).toBeLessThan(4 * moves.fitted.deviation!);
    expect(moves.fitted.observations).toBe(33);
  });

  it('the fraction moved, with a feed and a draw of the rig, noise of positions and of the load cells', () => {
    const fed = rigOf(`rig hopper {
  medium grit packed
  chamber bin { volume 8 m3  mass 120 kg }
  chamber drum { volume 8 m3  mass 0 kg }
  door flap { travel 400 ms }
  stack bin > flap > drum { moves 10 % }
  feed chute into bin { rate 1.5 kg/s }
  draw screw from drum { rate 0.5 kg/s }
  switch go = off
  drive flap = go
}`);
    const rows: string[] = [];
    let [bin, drum] = [120, 40];
    for (let k = 0; k <= 400; k++) {
      const phase = k % 40;
      if (k > 0) [bin, drum] = [bin + 0.375, drum - 0.125];
      if (phase === 20) [bin, drum] = [bin * 0.83, drum + bin * 0.17];
      const x = (phase >= 20 && phase < 30 ? 1 : 0) + 0.004 * noise(3 * k);
      rows.push(
        [k / 4, x < 0 ? 0 : Math.min(1, x), bin * (1 + 0.01 * noise(k)), drum * (1 + 0.01 * noise(7 * k))].join(','),
      );
    }
    const text = `time [s],flap,bin mass [kg],drum mass [kg]\n${rows.join('\n')}`;
    const moves = fitRig(fed, log(fed, text)).properties.find((p) => p.property === 'moves')!;
    expect(Math.abs(moves.fitted.value - 0.17)).toBeLessThan(0.005);
  });

  it('the discharge coefficient, from pressures while a door stands open', () => {
    const truth = rig('discharge 0.71');
    const model = modelFlow(truth).model!;
    const areas = effectiveAreas(truth.doors) as Float64Array;
    const doors: DoorPath[] = [0, 1].map(() => ({
      initial: 0,
      moves: [{ t: 1e6, from: 0, to: 1 as const, arrives: 1.4e6 }],
    }));
    const volumes = Float64Array.from([1, 0.5, 0.001, 0.001]);
    const rows = Array.from({ length: 61 }, (_, k) => {
      const t = k * 0.1;
      const orifice = new Openings({ ...model, law: model.law as never, areas }, startContents(model, volumes));
      if (t > 0) strokeOn(orifice, { doors, duration: Math.round(t * 1e6), strokes: 1, repeats: false, lines: [] });
      const p = gasPressure(orifice, 1, 0.5) * (1 + 2e-4 * noise(k));
      const x = positionAt(doors[0], Math.round(t * 1e6));
      return `${t.toFixed(1)},${x.toFixed(3)},${x.toFixed(3)},${(p / 1e5).toFixed(5)}`;
    });
    const text = `time [s],upper,lower,store pressure [bar]\n${rows.join('\n')}`;
    const { properties, notes, columns } = fitRig(rig(), log(rig(), text));
    expect(notes).toEqual([]);
    const discharge = properties.filter((p) => p.property === 'discharge');
    expect(discharge).toHaveLength(2);
    expect(discharge[0].fitted.value).toBeCloseTo(0.71, 2);
    expect(Math.max(...columns[0].points.map((r) => Math.abs(r.measured - r.fitted)))).toBeLessThan(300);
  });

  it('says what a log cannot tell', () => {
    const { properties, notes } = fitRig(rig(), log(rig(), 'time [s],store pressure [bar]\n0,1\n1,1\n2,1'));
    expect(properties).toEqual([]);
    expect(notes.join(' ')).toContain('needs the opening of every door');
  });

  it('leaves out strokes across a gap', () => {
    const stroke = (t: number, m: number): string[] => [`${t},0,${m}`, `${t + 1},1,${m}`, `${t + 2},0,${m * 0.9}`];
    const rows = [...stroke(0, 100), ...stroke(3, 90), ...stroke(6, 81), ...stroke(500, 30), ...stroke(503, 27)];
    const { properties, notes } = fitRig(rig(), log(rig(), `time [s],upper,source mass [kg]\n${rows.join('\n')}`), [
      'moves',
    ]);
    expect(properties.find((p) => p.property === 'moves')!.fitted.value).toBeCloseTo(0.1, 6);
    expect(notes[0]).toContain('No readings from 8 s');
  });
});
