/**
 * Water: density, stiffness and vapour pressure of the liquid by IAPWS R7-97(2012) (the Industrial Formulation IAPWS-IF97), region 1
 * (eq. 7) and region 4 (eq. 30): 273.15 to 623.15 K and up to 100 MPa, in density within 0.002 % of IAPWS-95 at 0 to 80 °C.
 */

/** J/(kg K), of the formulation. */
const R = 461.526;
const PRESSURE = 16.53e6;
const TEMPERATURE = 1386;

/** Rows I, J, n of Table 2. */
const REGION_1: readonly (readonly [i: number, j: number, n: number])[] = [
  [0, -2, 0.14632971213167],
  [0, -1, -0.84548187169114],
  [0, 0, -3.756360367204],
  [0, 1, 3.3855169168385],
  [0, 2, -0.95791963387872],
  [0, 3, 0.15772038513228],
  [0, 4, -0.016616417199501],
  [0, 5, 8.1214629983568e-4],
  [1, -9, 2.8319080123804e-4],
  [1, -7, -6.0706301565874e-4],
  [1, -1, -0.018990068218419],
  [1, 0, -0.032529748770505],
  [1, 1, -0.021841717175414],
  [1, 3, -5.283835796993e-5],
  [2, -3, -4.7184321073267e-4],
  [2, 0, -3.0001780793026e-4],
  [2, 1, 4.7661393906987e-5],
  [2, 3, -4.4141845330846e-6],
  [2, 17, -7.2694996297594e-16],
  [3, -4, -3.1679644845054e-5],
  [3, 0, -2.8270797985312e-6],
  [3, 6, -8.5205128120103e-10],
  [4, -5, -2.2425281908e-6],
  [4, -2, -6.5171222895601e-7],
  [4, 10, -1.4341729937924e-13],
  [5, -8, -4.0516996860117e-7],
  [8, -11, -1.2734301741641e-9],
  [8, -6, -1.7424871230634e-10],
  [21, -29, -6.8762131295531e-19],
  [23, -31, 1.4478307828521e-20],
  [29, -38, 2.6335781662795e-23],
  [30, -39, -1.1947622640071e-23],
  [31, -40, 1.8228094581404e-24],
  [32, -41, -9.3537087292458e-26],
];

/** Rows 1 to 10 of Table 34. */
const SATURATION = [
  1167.0521452767, -724213.16703206, -17.073846940092, 12020.82470247, -3232555.0322333, 14.91510861353,
  -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
] as const;

/** Properties at one temperature: what depends on the temperature alone is computed once. */
export interface WaterAt {
  /** kg/m3 at a pressure in Pa. */
  density(pressure: number): number;
  /** Isothermal bulk modulus, Pa. */
  bulkModulus(pressure: number): number;
  /** Pa */
  readonly vapourPressure: number;
}

/** Where the formulation of the liquid holds. */
export const WATER_RANGE = { coldest: 273.15, hottest: 623.15, pressure: 100e6 } as const;

/** Water at one temperature, K, within `WATER_RANGE`. Below its vapour pressure the liquid is continued (metastable). */
export function waterAt(temperature: number): WaterAt {
  const tau = TEMPERATURE / temperature;
  // At one temperature the specific volume is a polynomial in 7.1 − π, whose few exponents are those of the rows.
  const byPower = new Map<number, number>();
  for (const [i, j, n] of REGION_1) {
    if (i > 0) byPower.set(i, (byPower.get(i) ?? 0) - n * i * Math.pow(tau - 1.222, j));
  }
  const powers = [...byPower];
  const scale = (R * temperature) / PRESSURE;
  const volume = (pressure: number): number => {
    const x = 7.1 - pressure / PRESSURE;
    let sum = 0;
    for (const [i, c] of powers) sum += c * Math.pow(x, i - 1);
    return scale * sum;
  };
  const slope = (pressure: number): number => {
    const x = 7.1 - pressure / PRESSURE;
    let sum = 0;
    for (const [i, c] of powers) if (i > 1) sum -= c * (i - 1) * Math.pow(x, i - 2);
    return (scale * sum) / PRESSURE;
  };
  return {
    density: (pressure) => 1 / volume(pressure),
    bulkModulus: (pressure) => -volume(pressure) / slope(pressure),
    vapourPressure: saturationPressure(temperature),
  };
}

/** Pressure at which water boils at a temperature, Pa (eq. 30); 273.15 to 647.096 K. */
export function saturationPressure(temperature: number): number {
  const [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = SATURATION;
  const t = temperature + n9 / (temperature - n10);
  const a = (t + n1) * t + n2;
  const b = (n3 * t + n4) * t + n5;
  const c = (n6 * t + n7) * t + n8;
  return 1e6 * Math.pow((2 * c) / (-b + Math.sqrt(b * b - 4 * a * c)), 4);
}
