/** What a calibration found, as text that a person reads and as curves of readings against the fit. */
import type { Series, StoreModel } from '../diagram/store/model';
import type { FitReport, FittedProperty } from '../readings/fit';
import { formatNumber, formatTime } from '../units/units';
import { textTable } from './text-table';

/** Rows of the table of residuals per figure. */
const ROWS = 12;

/** Lines without line ends. */
export function fitTable(report: FitReport): string[] {
  const lines: string[] = [];
  if (report.properties.length > 0) {
    const rows = [['what', 'property', 'fitted', '+-', 'stated', 'from']];
    for (const p of report.properties) {
      rows.push([
        p.name,
        p.property,
        p.literal,
        p.fitted.deviation === null ? '?' : valueText(p, p.fitted.deviation),
        p.stated === null ? '-' : valueText(p, p.stated),
        `${p.fitted.observations} ${p.property === 'discharge' ? 'readings' : 'strokes'}`,
      ]);
    }
    lines.push(...textTable(rows, ['left', 'left', 'right', 'right', 'right', 'right']));
  }
  for (const p of distinct(report.properties))
    lines.push('', `Residuals of ${p.property} of ${p.name}:`, '', ...residualTable(p));
  for (const note of report.notes) lines.push('', note);
  return lines[0] === '' ? lines.slice(1) : lines;
}

/** Properties that share one fit (the discharge of all doors) once. */
const distinct = (properties: readonly FittedProperty[]): FittedProperty[] =>
  properties.filter((p, k) => properties.findIndex((q) => q.fitted === p.fitted) === k);

const isTime = (p: FittedProperty): boolean => p.property === 'opens_in' || p.property === 'closes_in';

function valueText(p: FittedProperty, value: number): string {
  if (isTime(p)) return formatTime(Math.round(value / 100) * 100);
  return p.property === 'moves' ? `${formatNumber(value * 100)} %` : formatNumber(value);
}

function residualTable(p: FittedProperty): string[] {
  const { residuals } = p.fitted;
  const stride = Math.max(1, Math.ceil(residuals.length / ROWS));
  const text = (v: number): string => (isTime(p) ? formatTime(Math.round(v)) : formatNumber(v));
  const rows = [['at', 'measured', 'fitted', 'difference']];
  residuals.forEach((r, k) => {
    if (k % stride === 0)
      rows.push([formatTime(Math.round(r.t)), text(r.measured), text(r.fitted), text(r.measured - r.fitted)]);
  });
  return textTable(rows, ['right', 'right', 'right', 'right']);
}

/** Measured and fitted values over time, one pair of curves per fit: a picture as of the store panel. */
export function fitModel(title: string, report: FitReport): StoreModel {
  const series = distinct(report.properties).flatMap((p): Series[] => {
    const unit = isTime(p) ? 's' : p.property === 'moves' ? 'kg' : 'SI';
    const scale = isTime(p) ? 1e-6 : 1;
    const curve = (which: 'measured' | 'fitted'): Series => ({
      id: `${which}:${p.name}:${p.property}`,
      name: `${p.name} ${p.property}, ${which}`,
      unit,
      points: p.fitted.residuals.map((r) => ({ t: Math.round(r.t), value: r[which] * scale })),
    });
    return [curve('measured'), curve('fitted')];
  });
  return {
    id: `${title}/fit`,
    name: 'fit',
    title,
    subtitle: 'Readings against the fit',
    series,
    marks: [],
    strokes: [],
    notes: report.notes,
    tables: [],
  };
}
