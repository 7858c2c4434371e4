/**
 * Published equations of state of the built-in gases. Short technical ones where there are any (Span and Wagner 2003: 12 terms, in
 * density within 0.5 % of the reference equations at 250 to 400 K and up to 70 MPa), otherwise the reference equation itself.
 * The coefficients are those of the papers, as two public collections of equations give them alike; they are proved by
 * compressibilities and check points of other sources in `tests/reference/flow-real-gas.test.ts`.
 */
import type { BellTerm, HelmholtzEquation, PowerTerm } from './helmholtz';

export interface GasEquation extends HelmholtzEquation {
  /** Where it is published. */
  readonly source: string;
  /** Author and year, for titles. */
  readonly short: string;
  /** Greatest error of the density at 250 to 400 K and up to `range.pressure`, as a share. */
  readonly error: number;
  /** K and Pa; outside of it no figure is given. */
  readonly range: { readonly coldest: number; readonly hottest: number; readonly pressure: number };
  /** Vapour pressure below the critical point, where the gas can condense within the range. */
  readonly vapour: VapourPressure | null;
}

/** ln(p/pc) = (Tc/T) Σ n (1 − T/Tc)^t */
export interface VapourPressure {
  readonly temperature: number;
  readonly pressure: number;
  readonly terms: readonly (readonly [n: number, t: number])[];
}

/** Exponents d, t, l of the 12 terms that all nonpolar fluids share: Span and Wagner, Int. J. Thermophys. 24, 41 (2003). */
const NONPOLAR: readonly (readonly [d: number, t: number, l: number])[] = [
  [1, 0.25, 0],
  [1, 1.125, 0],
  [1, 1.5, 0],
  [2, 1.375, 0],
  [3, 0.25, 0],
  [7, 0.875, 0],
  [2, 0.625, 1],
  [5, 1.75, 1],
  [1, 3.625, 2],
  [4, 3.625, 2],
  [3, 14.5, 3],
  [4, 12, 3],
];

const nonpolar = (sizes: readonly number[]): readonly PowerTerm[] =>
  NONPOLAR.map(([d, t, l], k): PowerTerm => [sizes[k]!, d, t, l]);

const SHORT = 'Span, Wagner, Int. J. Thermophys. 24, 41 (2003)';
/** Range over which the short equations were fitted (ibid.). */
const SHORT_RANGE = { coldest: 200, hottest: 600, pressure: 100e6 };
const SHORT_R = 8.31451;

// The gases. Below each name: the paper, what its ideal part is from, and the coefficients in the paper's order: powers [n, d, t, l],
// vibrations [n, θ in K], bells [n, d, t, η, β, γ, ε]. θ written as a product is the paper's ratio times its reducing temperature.
const NITROGEN: GasEquation = {
  source: `${SHORT}; ideal part of Span et al., J. Phys. Chem. Ref. Data 29, 1361 (2000)`,
  short: 'Span and Wagner 2003',
  error: 0.0045,
  molarMass: 0.0280134,
  gasConstant: SHORT_R,
  reducingTemperature: 126.192,
  reducingDensity: 11_183.9,
  ideal: {
    heat: 2.5,
    powers: [
      [-1.934819e-4, -1],
      [-1.247742e-5, -2],
      [6.678326e-8, -3],
    ],
    vibrations: [[1.012941, 3364.011]],
  },
  powers: nonpolar([
    0.92296567, -2.5575012, 0.64482463, 0.01083102, 0.073924167, 0.00023532962, 0.18024854, -0.045660299, -0.1552106,
    -0.03811149, -0.031962422, 0.015513532,
  ]),
  bells: [],
  range: SHORT_RANGE,
  vapour: null,
};

const OXYGEN: GasEquation = {
  source: `${SHORT}; ideal part of Schmidt, Wagner, Fluid Phase Equilib. 19, 175 (1985)`,
  short: 'Span and Wagner 2003',
  error: 0.0045,
  molarMass: 0.0319988,
  gasConstant: SHORT_R,
  reducingTemperature: 154.581,
  reducingDensity: 13_630,
  ideal: {
    heat: 2.51808732,
    vibrations: [
      [1.02323928, 2246.3244],
      [0.784357918, 11_259.9763],
      [0.00337183363, 1201.26209],
      [-0.0170864084, 69.0089445],
      [0.0463751562, 5328.05445],
    ],
  },
  powers: nonpolar([
    0.88878286, -2.4879433, 0.59750191, 0.0096501817, 0.071970429, 0.00022337443, 0.18558686, -0.038129368, -0.15352245,
    -0.026726815, -0.025675299, 0.0095714302,
  ]),
  bells: [],
  range: SHORT_RANGE,
  vapour: null,
};

const METHANE: GasEquation = {
  source: `${SHORT}; ideal part of Setzmann, Wagner, J. Phys. Chem. Ref. Data 20, 1061 (1991)`,
  short: 'Span and Wagner 2003',
  error: 0.003,
  molarMass: 0.0160428,
  gasConstant: SHORT_R,
  reducingTemperature: 190.564,
  reducingDensity: 10_139.128,
  ideal: {
    heat: 3.0016,
    vibrations: [
      [0.008449, 648],
      [4.6942, 1957],
      [3.4865, 3895],
      [1.6572, 5705],
      [1.4115, 15_080],
    ],
  },
  powers: nonpolar([
    0.89269676, -2.5438282, 0.64980978, 0.020793471, 0.070189104, 0.00023700378, 0.16653334, -0.043855669, -0.1572678,
    -0.035311675, -0.029570024, 0.014019842,
  ]),
  bells: [],
  range: SHORT_RANGE,
  vapour: null,
};

const CARBON_DIOXIDE: GasEquation = {
  source:
    'Span, Wagner, Int. J. Thermophys. 24, 111 (2003); ideal part and vapour pressure of Span, Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996)',
  short: 'Span and Wagner 2003',
  error: 0.005,
  molarMass: 0.0440098,
  gasConstant: SHORT_R,
  reducingTemperature: 304.1282,
  reducingDensity: 10_624.9063,
  ideal: {
    heat: 2.5,
    vibrations: [
      [1.99427042, 3.15163 * 304.1282],
      [0.62105248, 6.1119 * 304.1282],
      [0.41195293, 6.77708 * 304.1282],
      [1.04028922, 11.32384 * 304.1282],
      [0.08327678, 27.08792 * 304.1282],
    ],
  },
  powers: [
    [0.89875108, 1, 0.25, 0],
    [-2.1281985, 1, 1.25, 0],
    [-0.06819032, 1, 1.5, 0],
    [0.076355306, 3, 0.25, 0],
    [0.00022053253, 7, 0.875, 0],
    [0.41541823, 1, 2.375, 1],
    [0.71335657, 2, 2, 1],
    [0.00030354234, 5, 2.125, 1],
    [-0.36643143, 1, 3.5, 2],
    [-0.0014407781, 1, 6.5, 2],
    [-0.089166707, 4, 4.75, 2],
    [-0.023699887, 2, 12.5, 3],
  ],
  bells: [],
  range: { coldest: 220, hottest: 600, pressure: 100e6 },
  vapour: {
    temperature: 304.1282,
    pressure: 7.3773e6,
    terms: [
      [-7.0602087, 1],
      [1.9391218, 1.5],
      [-1.6463597, 2],
      [-3.2995634, 4],
    ],
  },
};

const ARGON: GasEquation = {
  source: SHORT,
  short: 'Span and Wagner 2003',
  error: 0.004,
  molarMass: 0.039948,
  gasConstant: SHORT_R,
  reducingTemperature: 150.687,
  reducingDensity: 13_407.42966,
  ideal: { heat: 1.5, vibrations: [] },
  powers: nonpolar([
    0.85095715, -2.4003223, 0.54127841, 0.016919771, 0.068825965, 0.00021428033, 0.17429895, -0.033654496, -0.135268,
    -0.016387351, -0.024987667, 0.0088769205,
  ]),
  bells: [],
  range: SHORT_RANGE,
  vapour: null,
};

// From here on the reference equations themselves: the short family above does not cover these.
const HYDROGEN: GasEquation = {
  source: 'Leachman, Jacobsen, Penoncello, Lemmon, J. Phys. Chem. Ref. Data 38, 721 (2009), normal hydrogen',
  short: 'Leachman et al. 2009',
  error: 0.001,
  molarMass: 0.00201588,
  gasConstant: 8.314472,
  reducingTemperature: 33.145,
  reducingDensity: 15_508,
  ideal: {
    heat: 1.5,
    vibrations: [
      [1.616, 531],
      [-0.4117, 751],
      [-0.792, 1989],
      [0.758, 2484],
      [1.217, 6859],
    ],
  },
  powers: [
    [-6.93643, 1, 0.6844, 0],
    [0.01, 4, 1, 0],
    [2.1101, 1, 0.989, 0],
    [4.52059, 1, 0.489, 0],
    [0.732564, 2, 0.803, 0],
    [-1.34086, 2, 1.1444, 0],
    [0.130985, 3, 1.409, 0],
    [-0.777414, 1, 1.754, 1],
    [0.351944, 3, 1.311, 1],
  ],
  bells: [
    [-0.0211716, 2, 4.187, 1.685, 0.171, 0.7164, 1.506],
    [0.0226312, 1, 5.646, 0.489, 0.2245, 1.3444, 0.156],
    [0.032187, 3, 0.791, 0.103, 0.1304, 1.4517, 1.736],
    [-0.0231752, 1, 7.249, 2.506, 0.2785, 0.7204, 0.67],
    [0.0557346, 1, 2.986, 1.607, 0.3967, 1.5445, 1.662],
  ],
  range: { coldest: 150, hottest: 1000, pressure: 200e6 },
  vapour: null,
};

const HELIUM: GasEquation = {
  source: 'Ortiz-Vega et al., National Institute of Standards and Technology (2019), helium-4',
  short: 'Ortiz-Vega et al. 2019',
  error: 0.001,
  molarMass: 0.004002602,
  gasConstant: 8.3144598,
  reducingTemperature: 5.1953,
  reducingDensity: 17_383.7,
  ideal: { heat: 1.5, vibrations: [] },
  powers: [
    [0.015559018, 4, 1, 0],
    [3.0638932, 1, 0.425, 0],
    [-4.2420844, 1, 0.63, 0],
    [0.054418088, 2, 0.69, 0],
    [-0.18971904, 2, 1.83, 0],
    [0.087856262, 3, 0.575, 0],
    [2.2833566, 1, 0.925, 1],
    [-0.53331595, 1, 1.585, 2],
    [-0.53296502, 3, 1.69, 2],
    [0.99444915, 2, 1.51, 1],
    [-0.30078896, 2, 2.9, 2],
    [-1.6432563, 1, 0.8, 1],
  ],
  bells: [
    [0.8029102, 2, 1.26, 1.5497, 0.2471, 3.15, 0.596],
    [0.026838669, 1, 3.51, 9.245, 0.0983, 2.54505, 0.3423],
    [0.04687678, 2, 2.785, 4.76323, 0.1556, 1.2513, 0.761],
    [-0.14832766, 1, 1, 6.3826, 2.6782, 1.9416, 0.9747],
    [0.03016211, 1, 4.22, 8.7023, 2.7077, 0.5984, 0.5868],
    [-0.019986041, 3, 0.83, 0.255, 0.6621, 2.2282, 0.5627],
    [0.14283514, 2, 1.575, 0.3523, 0.1775, 1.606, 2.5346],
    [0.007418269, 2, 3.447, 0.1492, 0.4821, 3.815, 3.6763],
    [-0.22989793, 3, 0.73, 0.05, 0.3069, 1.61958, 4.5245],
    [0.79224829, 2, 1.634, 0.1668, 0.1758, 0.6407, 5.039],
    [-0.049386338, 2, 6.13, 42.2358, 1357.6577, 1.076, 0.959],
  ] satisfies BellTerm[],
  range: { coldest: 150, hottest: 1000, pressure: 200e6 },
  vapour: null,
};

/** Air as a pseudo-pure fluid. Of the ideal part the term that is linear in τ below 1000 K is left out: a shift of the zero of energy. */
const AIR: GasEquation = {
  source: 'Lemmon, Jacobsen, Penoncello, Friend, J. Phys. Chem. Ref. Data 29, 331 (2000)',
  short: 'Lemmon et al. 2000',
  error: 0.001,
  molarMass: 0.02896546,
  gasConstant: 8.31451,
  reducingTemperature: 132.6312,
  reducingDensity: 10_447.7,
  ideal: {
    heat: 2.490888032,
    powers: [
      [6.057194e-8, -3],
      [-2.10274769e-5, -2],
      [-1.58860716e-4, -1],
      [-1.9536342e-4, 1.5],
    ],
    vibrations: [
      [0.791309509, 25.36365 * 132.6312],
      [0.212236768, 16.90741 * 132.6312],
    ],
  },
  powers: [
    [0.118160747229, 1, 0, 0],
    [0.713116392079, 1, 0.33, 0],
    [-1.61824192067, 1, 1.01, 0],
    [0.0714140178971, 2, 0, 0],
    [-0.0865421396646, 3, 0, 0],
    [0.134211176704, 3, 0.15, 0],
    [0.0112626704218, 4, 0, 0],
    [-0.0420533228842, 4, 0.2, 0],
    [0.0349008431982, 4, 0.35, 0],
    [0.000164957183186, 6, 1.35, 0],
    [-0.101365037912, 1, 1.6, 1],
    [-0.17381369097, 3, 0.8, 1],
    [-0.0472103183731, 5, 0.95, 1],
    [-0.0122523554253, 6, 1.25, 1],
    [-0.146629609713, 1, 3.6, 2],
    [-0.0316055879821, 3, 6, 2],
    [0.000233594806142, 11, 3.25, 2],
    [0.0148287891978, 1, 3.5, 3],
    [-0.00938782884667, 3, 15, 3],
  ],
  bells: [],
  range: { coldest: 150, hottest: 1000, pressure: 200e6 },
  vapour: null,
};

// Condenses within its range, as carbon dioxide does: its vapour pressure is needed.
const CHLORINE: GasEquation = {
  source: 'Thol et al., AIChE J. 67, e17326 (2021)',
  short: 'Thol et al. 2021',
  error: 0.005,
  molarMass: 0.070906,
  gasConstant: 8.3144598,
  reducingTemperature: 416.8654,
  reducingDensity: 8060,
  ideal: {
    heat: 2.5,
    vibrations: [
      [1.0256, 800],
      [0.067756, 3000],
      [0.14068, 8200],
    ],
  },
  powers: [
    [0.0245017, 4, 1, 0],
    [0.9132904, 1, 0.196, 0],
    [-1.72309, 1, 1, 0],
    [-0.3359344, 2, 1.08, 0],
    [0.1200495, 3, 0.39, 0],
    [-1.214889, 1, 1.64, 2],
    [-0.10167, 3, 3.2, 2],
    [0.6196819, 2, 1.32, 1],
    [-0.6578512, 2, 2.163, 2],
    [-0.009159452, 7, 0.93, 1],
  ],
  bells: [
    [1.909418, 1, 0.872, 0.969, 1.22, 1.142, 0.88],
    [-0.07163412, 1, 2.08, 1.89, 6.8, 1.22, 0.73],
    [-0.1893345, 3, 1.6, 1.32, 3.5, 1.552, 0.28],
    [-0.5698469, 2, 1.37, 1.012, 1.276, 1.135, 0.863],
    [-0.8964496, 2, 1.05, 0.98, 1.6, 0.754, 0.554],
  ],
  range: { coldest: 200, hottest: 520, pressure: 20e6 },
  vapour: {
    temperature: 416.8654,
    pressure: 7.6424e6,
    terms: [
      [-6.1289, 1],
      [1.5112, 1.5],
      [-1.4523, 2],
      [-5.6038, 5.94],
      [3.9923, 7],
      [-1.2651, 14.8],
    ],
  },
};

/** By the name of the built-in medium. */
export const GAS_EQUATIONS: ReadonlyMap<string, GasEquation> = new Map([
  ['air', AIR],
  ['argon', ARGON],
  ['carbon_dioxide', CARBON_DIOXIDE],
  ['chlorine', CHLORINE],
  ['helium', HELIUM],
  ['hydrogen', HYDROGEN],
  ['methane', METHANE],
  ['nitrogen', NITROGEN],
  ['oxygen', OXYGEN],
]);
