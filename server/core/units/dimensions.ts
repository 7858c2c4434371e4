/** Physical dimensions: their names, the words people read, and the exponents that make `volume / time` a volume flow. */
import { say } from '../words/say';

/** Same names as in the vocabulary of the language (a type test in `server/core/model` keeps the two alike). */
export type DimensionName =
  | 'none'
  | 'time'
  | 'length'
  | 'area'
  | 'volume'
  | 'mass'
  | 'amount'
  | 'temperature'
  | 'pressure'
  | 'density'
  | 'mass_flow'
  | 'volume_flow'
  | 'amount_flow'
  | 'molar_mass'
  | 'power'
  | 'energy'
  | 'specific_energy'
  | 'force'
  | 'heat_conductance'
  | 'flow_conductance';

/** Exponents of kg, m, s, K, mol. */
export type DimensionVector = readonly [number, number, number, number, number];

interface DimensionSpec {
  readonly vector: DimensionVector;
  /** For messages: `a volume flow`. */
  readonly words: () => string;
  /** What its values are counted in once resolved. */
  readonly base: string;
}

/** Every dimension of the language. */
export const DIMENSIONS: Readonly<Record<DimensionName, DimensionSpec>> = {
  none: { vector: [0, 0, 0, 0, 0], words: () => say`a plain number`, base: '1' },
  time: { vector: [0, 0, 1, 0, 0], words: () => say`a time`, base: 'us' },
  length: { vector: [0, 1, 0, 0, 0], words: () => say`a length`, base: 'm' },
  area: { vector: [0, 2, 0, 0, 0], words: () => say`an area`, base: 'm2' },
  volume: { vector: [0, 3, 0, 0, 0], words: () => say`a volume`, base: 'm3' },
  mass: { vector: [1, 0, 0, 0, 0], words: () => say`a mass`, base: 'kg' },
  amount: { vector: [0, 0, 0, 0, 1], words: () => say`an amount of substance`, base: 'mol' },
  temperature: { vector: [0, 0, 0, 1, 0], words: () => say`a temperature`, base: 'K' },
  pressure: { vector: [1, -1, -2, 0, 0], words: () => say`a pressure`, base: 'Pa' },
  density: { vector: [1, -3, 0, 0, 0], words: () => say`a density`, base: 'kg/m3' },
  mass_flow: { vector: [1, 0, -1, 0, 0], words: () => say`a mass flow`, base: 'kg/s' },
  volume_flow: { vector: [0, 3, -1, 0, 0], words: () => say`a volume flow`, base: 'm3/s' },
  amount_flow: { vector: [0, 0, -1, 0, 1], words: () => say`a flow in normal volumes`, base: 'mol/s' },
  molar_mass: { vector: [1, 0, 0, 0, -1], words: () => say`a molar mass`, base: 'kg/mol' },
  power: { vector: [1, 2, -3, 0, 0], words: () => say`a power`, base: 'W' },
  energy: { vector: [1, 2, -2, 0, 0], words: () => say`an energy`, base: 'J' },
  specific_energy: { vector: [0, 2, -2, 0, 0], words: () => say`an energy per mass`, base: 'J/kg' },
  force: { vector: [1, 1, -2, 0, 0], words: () => say`a force`, base: 'N' },
  heat_conductance: { vector: [1, 2, -3, -1, 0], words: () => say`a heat flow per degree`, base: 'W/K' },
  flow_conductance: { vector: [-1, 4, 1, 0, 0], words: () => say`a flow per pressure`, base: 'm3/s/Pa' },
};

export const DIMENSION_NAMES = Object.keys(DIMENSIONS) as readonly DimensionName[];

/** Most vectors are those of the table themselves; comparing figures is for products and quotients. */
const BY_IDENTITY = new Map(DIMENSION_NAMES.map((name) => [DIMENSIONS[name].vector, name]));
const BY_VECTOR = new Map(DIMENSION_NAMES.map((name) => [DIMENSIONS[name].vector.join(), name]));

/** The dimension with these exponents, or null where the language has no name for it. */
export function dimensionOf(vector: DimensionVector): DimensionName | null {
  return BY_IDENTITY.get(vector) ?? BY_VECTOR.get(vector.join()) ?? null;
}

export function addVectors(a: DimensionVector, b: DimensionVector): DimensionVector {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2], a[3] + b[3], a[4] + b[4]];
}

export function subtractVectors(a: DimensionVector, b: DimensionVector): DimensionVector {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2], a[3] - b[3], a[4] - b[4]];
}

export function sameVector(a: DimensionVector, b: DimensionVector): boolean {
  return a === b || a.every((exponent, i) => exponent === b[i]);
}

/** The dimension in words for messages, with its article: `a volume flow`. */
export function describe(dimension: DimensionName): string {
  return DIMENSIONS[dimension].words();
}

const BASE_SYMBOLS = ['kg', 'm', 's', 'K', 'mol'] as const;

/** As `describe`, also for exponents that have no name: `a quantity in kg2 m-1`. */
export function describeVector(vector: DimensionVector): string {
  const name = dimensionOf(vector);
  if (name !== null) return describe(name);
  const factors = BASE_SYMBOLS.flatMap((symbol, i) => {
    const exponent = vector[i]!;
    return exponent === 0 ? [] : [exponent === 1 ? symbol : symbol + exponent];
  });
  return say`a quantity in ${factors.join(' ')}`;
}
