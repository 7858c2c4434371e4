/** What a calibration found, as text that a person reads and as curves of readings against the fit. */
import type { Series, StoreModel } from '../diagram/store/model';
import type { FitReport, FittedProperty } from '../readings/fit';
import type { ColumnFit } from '../readings/flow-fit';
import { scaleOf } from '../readings/headings';
import {
  formatCount,
  formatInterval,
  formatNumber,
  formatSi,
  formatTime,
  type IntervalDimension,
} from '../units/units';
import { textTable } from './text-table';

/** Lines without line ends. */
export function fitTable(report: FitReport): string[] {
  const { properties, columns, untold, notes, verdict } = report;
  const lines: string[] = [];
  if (properties.length > 0) {
    const rows = properties.map((p) => [
      p.name,
      p.property,
      p.literal,
      formatInterval(p.fitted.interval, intervalDimension(p)),
      p.stated === null ? '-' : valueText(p, p.stated),
      formatCount(p.fitted.observations, p.of === 'control' ? 'edge' : isTime(p) ? 'passage' : 'reading'),
    ]);
    const head = ['what', 'property', 'fitted', '95 % interval', 'stated', 'from'];
    lines.push(...textTable([head, ...rows], ['left', 'left', 'right', 'right', 'right', 'right']));
  }
  if (verdict !== '') lines.push('', verdict);
  if (columns.length > 0) lines.push('', ...residuals(columns));
  for (const { name, property, why } of untold)
    lines.push('', `${property} of ${name} cannot be determined from these readings: ${why}.`);
  for (const note of notes) lines.push('', note);
  return lines[0] === '' ? lines.slice(1) : lines;
}

const isTime = (p: FittedProperty): boolean =>
  p.of === 'control' || p.property === 'opens_in' || p.property === 'closes_in';

const intervalDimension = (p: FittedProperty): IntervalDimension => (isTime(p) ? 'time' : (p.dimension ?? 'share'));

function valueText(p: FittedProperty, value: number): string {
  if (isTime(p)) return formatTime(Math.round(value / 100) * 100);
  if (!p.dimension) return `${formatNumber(value * 100)} %`;
  return formatSi(value, p.dimension);
}

/** One line a column: how far readings are from the fit, in the unit of the column. */
function residuals(columns: readonly ColumnFit[]): string[] {
  const rows = columns.map(({ column, points, rms }) => {
    const factor = scaleOf(column.unit)?.factor ?? 1;
    const largest = points.reduce(
      (a, b) => (Math.abs(b.measured - b.fitted) > Math.abs(a.measured - a.fitted) ? b : a),
      points[0]!,
    );
    const text = (v: number): string => `${formatNumber(v / factor)} ${column.unit}`;
    return [
      column.heading,
      text(rms),
      text(largest.measured - largest.fitted),
      formatTime(largest.t),
      String(points.length),
    ];
  });
  const head = ['residuals of', 'root mean square', 'largest', 'at', 'points'];
  return textTable([head, ...rows], ['left', 'right', 'right', 'right', 'right']);
}

/**
 * Readings and fit over time, one pair of curves per column of readings in its unit, and below them the residuals, a chart of its own for each
 * column: a picture as of the store panel.
 */
export function fitModel(title: string, report: FitReport): StoreModel {
  const columns = report.columns.map((fit) => ({
    ...fit,
    name: fit.column.heading.replace(/\s*[[(].*$/, ''),
    scale: scaleOf(fit.column.unit) ?? { factor: 1, offset: 0 },
  }));
  const series = columns.flatMap(({ column, points, name, scale }): Series[] => {
    const curve = (which: 'measured' | 'fitted'): Series => ({
      id: `${which}:${column.heading}`,
      name: `${name}, ${which}`,
      unit: column.unit,
      points: points.map((p) => ({ t: p.t, value: (p[which] - scale.offset) / scale.factor })),
    });
    return [curve('measured'), curve('fitted')];
  });
  const residuals = columns.map(({ column, points, name, scale }): Series => ({
    id: `residual:${column.heading}`,
    name: `${name}, residual`,
    unit: residualUnit(name, column.unit),
    points: points.map((p) => ({ t: p.t, value: (p.measured - p.fitted) / scale.factor })),
  }));
  return {
    id: `${title}/fit`,
    name: 'fit',
    title,
    subtitle: report.verdict === '' ? 'Readings against the fit' : report.verdict,
    series: [...series, ...residuals],
    marks: [],
    strokes: [],
    notes: [...(report.verdict === '' ? [] : [report.verdict]), ...report.notes],
    tables: [],
  };
}

/** Residuals have an axis for each column: they are far smaller than what is read. */
const residualUnit = (name: string, unit: string): string => `${unit}, measured − fitted: ${name}`;
