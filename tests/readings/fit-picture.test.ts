/** The picture of a fit: readings against the fit, and the residuals of each column on an axis of their own, under the verdict. */
import { expect, it } from 'vitest';
import { fitModel } from '../../server/core/report/fit-table';
import { renderStoreSvg } from '../../server/core/diagram/store/picture';
import { positionAt } from '../../server/core/model/motion';
import { fitRig } from '../../server/core/readings/fit';
import { readLog } from '../../server/core/readings/log-csv';
import { analyseRig } from '../../server/core/run/analyse';
import { rigOf } from '../support/rigs';
import { contentsAlong, pathOf } from '../support/synthetic-log';

const RIG = rigOf(`rig bench {
  medium air
  chamber vat { volume 800 L  pressure 3 bar }
  chamber jar { volume 300 L  pressure 1 bar }
  door flap { travel 400 ms  bore 14 mm }
  stack vat > flap > jar
  switch go = off
  drive flap = go
}`);

it('draws residuals by chamber, in their unit', () => {
  const path = pathOf([[1e6, 2e6]], 4e5, 4e5);
  const times = Array.from({ length: 80 }, (_, k) => k * 50_000);
  const read = [0, 1].map((chamber) => ({ chamber, sensed: 'pressure' as const }));
  const rows = contentsAlong(RIG, [path], times, read).map(([vat, jar], k) => {
    // The vat reads 4 mbar too much and too little in turn, the jar 1 mbar.
    const sign = k % 2 === 0 ? 1 : -1;
    const x = positionAt(path, times[k]!).toFixed(4);
    return [times[k]! / 1e6, x, vat! / 100 + 4 * sign, jar! / 100 + sign].join(',');
  });
  const reading = readLog(RIG, `time [s],flap,vat pressure [mbar],jar pressure [mbar]\n${rows.join('\n')}`);
  if (!reading.ok) throw new Error(reading.problems[0]!.message);
  const report = fitRig(analyseRig(RIG), reading.log, ['discharge']);
  const model = fitModel('bench', report);
  const residuals = model.series.filter((s) => s.id.startsWith('residual:'));
  expect(residuals.map((s) => s.unit)).toEqual([
    'mbar, measured − fitted: vat pressure',
    'mbar, measured − fitted: jar pressure',
  ]);
  const largest = residuals.map((s) => Math.max(...s.points.map((p) => Math.abs(p.value))));
  expect(largest[0]).toBeGreaterThan(3);
  expect(largest[0]).toBeLessThan(6);
  expect(largest[1]).toBeGreaterThan(0.7);
  expect(largest[1]).toBeLessThan(2);
  const svg = renderStoreSvg(model, { look: 'light', width: 1000 });
  expect(svg).toContain('mbar, measured − fitted: vat pressure');
  expect(svg).toContain('mbar, measured − fitted: jar pressure');
  expect(report.verdict).not.toBe('');
  expect(svg).toContain(report.verdict.split(':')[0]);
});
