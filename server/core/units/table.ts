/**
 * The units of the language. Factors are exact: decimals or fractions as the SI Brochure (9th edition, 2019) and NIST SP 811
 * (2008 edition, Appendix B) give them; the derived ones are worked from exact definitions and say from which.
 */
import type { DimensionName } from './dimensions';

export interface Unit {
  /** As written in a text. */
  readonly name: string;
  /** Other spellings that are read but never written. */
  readonly aliases?: readonly string[];
  readonly dimension: DimensionName;
  /** Exact factor to the SI unit, a decimal or a fraction of two decimals; seconds for times. */
  readonly factor: string;
  /** Added after the factor: gauge pressures, degrees Celsius. */
  readonly offset?: string;
  readonly doc: string;
  /** Where the factor comes from; empty for SI units with their prefixes and for arithmetic on them. */
  readonly source: string;
}

const ATMOSPHERE = '101325';
const INCH = 'exact from 1 in = 25.4 mm; NIST SP 811 (2008), B.8';
const FEET = 'exact from 1 ft = 0.3048 m; NIST SP 811 (2008), B.8';
const POUND = 'NIST SP 811 (2008), B.8: 0.453 592 37 kg exactly';
const NORMAL_SOURCE =
  'DIN 1343:1990 (0 degC, 101 325 Pa, dry, as an ideal gas): p V / (R T) with R = 8.314 462 618 153 24 J/(mol K), SI Brochure, 9th edition';
/** p V / (R T) of one normal volume a second: 101 325 Pa over R times 273.15 K, times the seconds (and litres) in the unit. */
const perNormal = (divisor: string): string => `${ATMOSPHERE}/${divisor}`;
const WATER = 'conventional: 1000 kg/m3 and 9.806 65 m/s2; NIST SP 811 (2008), B.8: 1 inH2O = 249.0889 Pa';
const PSI = '4.4482216152605/0.00064516';
const SI_TABLE_8 = 'SI Brochure, 9th edition, Table 8';
const SP_811 = 'NIST SP 811 (2008), Appendix B.8';
const PSI_SOURCE =
  'exact from 1 lb = 0.45359237 kg, g = 9.80665 m/s2, 1 in = 25.4 mm; NIST SP 811 (2008), B.8: 6.894757 kPa';
const GAUGE_SOURCE = 'over the standard atmosphere, 101 325 Pa exactly; NIST SP 811 (2008), Appendix B.8';

const unit = (name: string, dimension: DimensionName, factor: string, doc: string, source = ''): Unit => ({
  name,
  dimension,
  factor,
  doc,
  source,
});
const gauge = (name: string, factor: string, doc: string): Unit => ({
  ...unit(name, 'pressure', factor, doc, GAUGE_SOURCE),
  offset: ATMOSPHERE,
});

/** Every unit, in the order in which lists show them (the likeliest of a dimension first). */
export const UNITS: readonly Unit[] = [
  unit('s', 'time', '1', 'second'),
  unit('ms', 'time', '0.001', 'millisecond'),
  { ...unit('us', 'time', '0.000001', 'microsecond, the finest time there is here'), aliases: ['µs', 'μs'] },
  unit('min', 'time', '60', 'minute', SI_TABLE_8),
  unit('h', 'time', '3600', 'hour', SI_TABLE_8),
  unit('d', 'time', '86400', 'day', SI_TABLE_8),

  unit('mm', 'length', '0.001', 'millimetre'),
  unit('cm', 'length', '0.01', 'centimetre'),
  unit('m', 'length', '1', 'metre'),
  unit('um', 'length', '0.000001', 'micrometre'),
  { ...unit('in', 'length', '0.0254', 'inch', INCH), aliases: ['inch'] },
  unit('ft', 'length', '0.3048', 'foot', FEET),

  unit('mm2', 'area', '0.000001', 'square millimetre'),
  unit('cm2', 'area', '0.0001', 'square centimetre'),
  unit('m2', 'area', '1', 'square metre'),
  unit('in2', 'area', '0.00064516', 'square inch', INCH),
  unit('ft2', 'area', '0.09290304', 'square foot', FEET),

  unit('L', 'volume', '0.001', 'litre', SI_TABLE_8),
  unit('m3', 'volume', '1', 'cubic metre'),
  unit('mL', 'volume', '0.000001', 'millilitre', SI_TABLE_8),
  unit('dm3', 'volume', '0.001', 'cubic decimetre'),
  unit('cm3', 'volume', '0.000001', 'cubic centimetre'),
  unit('ft3', 'volume', '0.028316846592', 'cubic foot', FEET),
  unit('in3', 'volume', '0.000016387064', 'cubic inch', INCH),
  unit(
    'galUS',
    'volume',
    '0.003785411784',
    'US liquid gallon',
    '231 in3 exactly; NIST SP 811 (2008), B.8: 3.785 412 L',
  ),
  unit('galUK', 'volume', '0.00454609', 'imperial gallon', 'NIST SP 811 (2008), B.8: 4.546 09 L exactly'),

  unit('kg', 'mass', '1', 'kilogram'),
  unit('g', 'mass', '0.001', 'gram'),
  unit('mg', 'mass', '0.000001', 'milligram'),
  unit('t', 'mass', '1000', 'tonne', SI_TABLE_8),
  unit('lb', 'mass', '0.45359237', 'pound', POUND),

  unit('mol', 'amount', '1', 'mole'),

  { ...unit('degC', 'temperature', '1', 'degree Celsius', 'SI Brochure, 9th edition, 2.3.4'), offset: '273.15' },
  unit('K', 'temperature', '1', 'kelvin'),

  unit('bar', 'pressure', '100000', 'bar, absolute', SP_811),
  gauge('barg', '100000', 'bar above the standard atmosphere'),
  unit('mbar', 'pressure', '100', 'millibar, absolute', SP_811),
  gauge('mbarg', '100', 'millibar above the standard atmosphere'),
  unit('kbar', 'pressure', '100000000', 'kilobar, absolute', SP_811),
  unit('Pa', 'pressure', '1', 'pascal, absolute'),
  unit('kPa', 'pressure', '1000', 'kilopascal, absolute'),
  gauge('kPag', '1000', 'kilopascal above the standard atmosphere'),
  unit('MPa', 'pressure', '1000000', 'megapascal, absolute'),
  unit('GPa', 'pressure', '1000000000', 'gigapascal (stiffness of liquids)'),
  unit('atm', 'pressure', ATMOSPHERE, 'standard atmosphere, absolute', SP_811),
  unit('psi', 'pressure', PSI, 'pound-force per square inch, absolute', PSI_SOURCE),
  unit('psia', 'pressure', PSI, 'pound-force per square inch, absolute', PSI_SOURCE),
  gauge('psig', PSI, 'pound-force per square inch above the standard atmosphere'),
  unit('inH2O', 'pressure', '249.08891', 'inch of water, absolute', WATER),
  gauge('inH2Og', '249.08891', 'inch of water above the standard atmosphere'),
  unit('mmH2O', 'pressure', '9.80665', 'millimetre of water, absolute', WATER),
  gauge('mmH2Og', '9.80665', 'millimetre of water above the standard atmosphere'),

  unit('kg/m3', 'density', '1', 'kilogram per cubic metre'),
  unit('g/L', 'density', '1', 'gram per litre'),
  unit('g/cm3', 'density', '1000', 'gram per cubic centimetre'),
  unit('kg/L', 'density', '1000', 'kilogram per litre'),
  unit('lb/ft3', 'density', '0.45359237/0.028316846592', 'pound per cubic foot', POUND),
  unit('t/m3', 'density', '1000', 'tonne per cubic metre'),

  unit('kg/s', 'mass_flow', '1', 'kilogram per second'),
  unit('kg/min', 'mass_flow', '1/60', 'kilogram per minute'),
  unit('kg/h', 'mass_flow', '1/3600', 'kilogram per hour'),
  unit('g/s', 'mass_flow', '0.001', 'gram per second'),
  unit('g/min', 'mass_flow', '0.001/60', 'gram per minute'),
  unit('t/h', 'mass_flow', '1000/3600', 'tonne per hour'),
  unit('lb/min', 'mass_flow', '0.45359237/60', 'pound per minute', POUND),
  unit('lb/h', 'mass_flow', '0.45359237/3600', 'pound per hour', POUND),

  unit('m3/s', 'volume_flow', '1', 'cubic metre per second'),
  unit('m3/h', 'volume_flow', '1/3600', 'cubic metre per hour'),
  unit('m3/min', 'volume_flow', '1/60', 'cubic metre per minute'),
  unit('L/s', 'volume_flow', '0.001', 'litre per second'),
  unit('L/min', 'volume_flow', '0.001/60', 'litre per minute'),
  unit('L/h', 'volume_flow', '0.001/3600', 'litre per hour'),
  unit('mL/s', 'volume_flow', '0.000001', 'millilitre per second'),
  unit('mL/min', 'volume_flow', '0.000001/60', 'millilitre per minute'),
  { ...unit('cfm', 'volume_flow', '0.028316846592/60', 'cubic foot per minute', FEET), aliases: ['ft3/min'] },
  unit('galUS/min', 'volume_flow', '0.003785411784/60', 'US liquid gallon per minute', INCH),

  unit('NL/min', 'amount_flow', perNormal('136265727.84891345036'), 'normal litre per minute', NORMAL_SOURCE),
  unit('Nm3/h', 'amount_flow', perNormal('8175943.6709348070216'), 'normal cubic metre per hour', NORMAL_SOURCE),
  unit('Nm3/min', 'amount_flow', perNormal('136265.72784891345036'), 'normal cubic metre per minute', NORMAL_SOURCE),
  unit('mol/s', 'amount_flow', '1', 'mole per second'),

  unit('g/mol', 'molar_mass', '0.001', 'gram per mole'),
  unit('kg/mol', 'molar_mass', '1', 'kilogram per mole'),

  unit('W', 'power', '1', 'watt'),
  unit('kW', 'power', '1000', 'kilowatt'),
  unit('MW', 'power', '1000000', 'megawatt'),

  unit('J', 'energy', '1', 'joule'),
  unit('kJ', 'energy', '1000', 'kilojoule'),
  unit('MJ', 'energy', '1000000', 'megajoule'),
  unit('Wh', 'energy', '3600', 'watt hour', SP_811),
  unit('kWh', 'energy', '3600000', 'kilowatt hour', SP_811),

  unit('J/kg', 'specific_energy', '1', 'joule per kilogram'),
  unit('kJ/kg', 'specific_energy', '1000', 'kilojoule per kilogram'),
  unit('MJ/kg', 'specific_energy', '1000000', 'megajoule per kilogram'),
  unit('kWh/kg', 'specific_energy', '3600000', 'kilowatt hour per kilogram'),

  unit('N', 'force', '1', 'newton'),
  unit('kN', 'force', '1000', 'kilonewton'),

  unit('W/K', 'heat_conductance', '1', 'watt per kelvin'),
  unit('kW/K', 'heat_conductance', '1000', 'kilowatt per kelvin'),

  unit('L/s/bar', 'flow_conductance', '0.001/100000', 'litre per second and bar (ISO 6358 C)'),
  unit('dm3/s/bar', 'flow_conductance', '0.001/100000', 'cubic decimetre per second and bar (ISO 6358 C)'),
  unit('L/min/bar', 'flow_conductance', '0.001/6000000', 'litre per minute and bar'),
  unit('m3/h/bar', 'flow_conductance', '1/360000000', 'cubic metre per hour and bar'),
  unit('m3/s/Pa', 'flow_conductance', '1', 'cubic metre per second and pascal (ISO 6358 C)'),

  unit('%', 'none', '0.01', 'per cent; as a tolerance always relative'),
];

/** Spellings people slip into, with the unit they mean; only for suggestions. */
export const COMMON_SLIPS: Readonly<Record<string, string>> = {
  sec: 's',
  secs: 's',
  second: 's',
  seconds: 's',
  S: 's',
  msec: 'ms',
  usec: 'us',
  mins: 'min',
  minute: 'min',
  minutes: 'min',
  hr: 'h',
  hrs: 'h',
  hour: 'h',
  hours: 'h',
  day: 'd',
  days: 'd',
  l: 'L',
  ml: 'mL',
  liter: 'L',
  litre: 'L',
  liters: 'L',
  litres: 'L',
  'm^3': 'm3',
  'm³': 'm3',
  'm^2': 'm2',
  'm²': 'm2',
  'cm²': 'cm2',
  'cm³': 'cm3',
  C: 'degC',
  '°C': 'degC',
  degc: 'degC',
  celsius: 'degC',
  kelvin: 'K',
  bara: 'bar',
  BAR: 'bar',
  mpa: 'MPa',
  kpa: 'kPa',
  pa: 'Pa',
  Kg: 'kg',
  KG: 'kg',
  kgs: 'kg',
  gr: 'g',
  ton: 't',
  tonne: 't',
  tonnes: 't',
  lpm: 'L/min',
  LPM: 'L/min',
  bars: 'bar',
  inches: 'in',
  foot: 'ft',
  feet: 'ft',
  lbs: 'lb',
  CFM: 'cfm',
  'cu.ft': 'ft3',
  cuft: 'ft3',
  'ft³': 'ft3',
  'in³': 'in3',
  'Nl/min': 'NL/min',
  NLPM: 'NL/min',
  'Nm³/h': 'Nm3/h',
  'm3/hr': 'm3/h',
  inWC: 'inH2O',
  PSI: 'psi',
  percent: '%',
  pct: '%',
};

const STANDARD =
  'standard conditions differ from trade to trade; write NL/min or Nm3/h (0 degC, 101 325 Pa), a mass flow, or the volume as it is, such as';

/** Units that mean more than one thing, with what to write instead and the units to offer. */
export const AMBIGUOUS_UNITS: Readonly<Record<string, { readonly why: string; readonly meant: readonly string[] }>> = {
  gal: { why: 'a US gallon is 3.785 L, an imperial one 4.546 L; write galUS or galUK', meant: ['galUS', 'galUK'] },
  gallon: { why: 'a US gallon is 3.785 L, an imperial one 4.546 L; write galUS or galUK', meant: ['galUS', 'galUK'] },
  gpm: { why: 'US and imperial gallons differ; write galUS/min, or L/min', meant: ['galUS/min', 'L/min'] },
  scfm: { why: `${STANDARD} cfm`, meant: ['NL/min', 'cfm'] },
  SCFM: { why: `${STANDARD} cfm`, meant: ['NL/min', 'cfm'] },
  slpm: { why: `${STANDARD} L/min`, meant: ['NL/min', 'L/min'] },
};
