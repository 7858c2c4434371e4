/** The table of built-in media for REFERENCE.md, as Markdown. */
import { formatNumber } from '../units/units';
import { type BuiltInMedium, MEDIA } from './media';

const figure = (value: number | null, scale = 1): string =>
  value === null ? '' : String(Number((value * scale).toPrecision(7)));

function gasRow(m: BuiltInMedium): string {
  const cells = [
    figure(m.molarMass, 1000),
    figure(m.heatRatio),
    figure(m.criticalTemperature),
    figure(m.criticalPressure, 1e-6),
    figure(m.acentricFactor),
  ];
  return `| \`${m.name}\` | ${m.doc} | ${cells.join(' | ')} | ${m.source} |`;
}

function liquidRow(m: BuiltInMedium): string {
  const bulk = m.bulkModulus === null ? '' : formatNumber(m.bulkModulus / 1e9);
  return `| \`${m.name}\` | ${m.doc} | ${figure(m.density)} | ${bulk} | ${m.source} |`;
}

/** One table of gases, one of liquids. */
export function mediaReference(): string {
  return [
    '| gas | | molar mass g/mol | heat ratio | critical temperature K | critical pressure MPa | acentric factor | equation of state |',
    '| --- | --- | --- | --- | --- | --- | --- | --- |',
    ...MEDIA.filter((m) => m.phase === 'gas').map(gasRow),
    '',
    '| liquid | | density kg/m3 | bulk modulus GPa | source |',
    '| --- | --- | --- | --- | --- |',
    ...MEDIA.filter((m) => m.phase === 'liquid').map(liquidRow),
    '',
    'Built-in media are at 20 degC where a rig states no temperature. The heat ratio is that of the ideal gas at 300 K.',
    '',
  ].join('\n');
}
