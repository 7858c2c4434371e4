/**
 * Media known by name. Molar masses, critical points and acentric factors are those of the reference equations of state named
 * in each row; the ratio of specific heats is the ideal-gas one of the same equation at 300 K, recomputed from its coefficients.
 */
import type { Phase } from './rig';

export interface BuiltInMedium {
  readonly name: string;
  readonly phase: Phase;
  readonly doc: string;
  /** kg/mol */
  readonly molarMass: number | null;
  readonly heatRatio: number | null;
  /** K; the temperature the other values are for, and the one of the rig where none is stated. */
  readonly temperature: number;
  /** kg/m3 at 101 325 Pa (liquids) */
  readonly density: number | null;
  /** Pa (liquids) */
  readonly bulkModulus: number | null;
  /** K */
  readonly criticalTemperature: number | null;
  /** Pa */
  readonly criticalPressure: number | null;
  readonly acentricFactor: number | null;
  readonly source: string;
}

const ROOM = 293.15;

const gas = (
  name: string,
  doc: string,
  [gramsPerMole, heatRatio, criticalTemperature, criticalMegapascal, acentricFactor]: readonly [
    number,
    number,
    number,
    number,
    number,
  ],
  source: string,
): BuiltInMedium => ({
  name,
  phase: 'gas',
  doc,
  molarMass: Number((gramsPerMole / 1000).toPrecision(10)),
  heatRatio,
  temperature: ROOM,
  density: null,
  bulkModulus: null,
  criticalTemperature,
  criticalPressure: Math.round(criticalMegapascal * 1e6),
  acentricFactor,
  source,
});

/** Every built-in medium, by name. */
export const MEDIA: readonly BuiltInMedium[] = [
  gas(
    'air',
    'dry air',
    [28.9655, 1.3999, 132.5306, 3.786, 0.0335],
    'Lemmon, Jacobsen, Penoncello, Friend (2000); critical point: maxcondentherm of the mixture',
  ),
  gas('argon', 'argon, Ar', [39.948, 1.6667, 150.687, 4.863, -0.00219], 'Tegeler, Span, Wagner (1999)'),
  gas('carbon_dioxide', 'carbon dioxide, CO2', [44.0098, 1.2876, 304.1282, 7.3773, 0.2239], 'Span and Wagner (1996)'),
  gas('chlorine', 'chlorine, Cl2 (toxic)', [70.906, 1.3241, 416.8654, 7.6424, 0.07], 'Thol et al. (2021)'),
  gas('helium', 'helium, He', [4.0026, 1.6667, 5.1953, 0.2283, -0.3835], 'Ortiz-Vega et al. (2020)'),
  gas(
    'hydrogen',
    'hydrogen, H2 (normal)',
    [2.0159, 1.4049, 33.145, 1.2964, -0.219],
    'Leachman, Jacobsen, Penoncello, Lemmon (2009)',
  ),
  gas('methane', 'methane, CH4', [16.0428, 1.3028, 190.564, 4.5992, 0.01142], 'Setzmann and Wagner (1991)'),
  gas('nitrogen', 'nitrogen, N2', [28.0135, 1.3995, 126.192, 3.3958, 0.0372], 'Span et al. (2000)'),
  gas('oxygen', 'oxygen, O2', [31.9988, 1.3946, 154.581, 5.043, 0.0222], 'Schmidt and Wagner (1985)'),
  {
    name: 'water',
    phase: 'liquid',
    doc: 'water; density and stiffness by its temperature, here at 20 degC',
    molarMass: 0.0180153,
    heatRatio: null,
    temperature: ROOM,
    density: 998.207,
    // Isothermal: 1 / 0.45891 per GPa.
    bulkModulus: 2.1791e9,
    criticalTemperature: null,
    criticalPressure: null,
    acentricFactor: null,
    source:
      'IAPWS R7-97(2012); values of IAPWS-95 (Wagner and Pruss 2002) at 20 degC and 101 325 Pa, isothermal bulk modulus',
  },
];

const BY_NAME = new Map(MEDIA.map((medium) => [medium.name, medium]));

export function builtInMedium(name: string): BuiltInMedium | null {
  return BY_NAME.get(name) ?? null;
}
