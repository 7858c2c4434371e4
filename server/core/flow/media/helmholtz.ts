/**
 * A substance by its Helmholtz energy: a(ρ, T)/(R T) = α⁰(δ, τ) + αʳ(δ, τ) with δ = ρ/ρr and τ = Tr/T. All other properties are its
 * derivatives, so that pressure, energy, entropy and the speed of sound fit together exactly (Span, Multiparameter Equations of
 * State, 2000, Table 3.9; the same relations in IAPWS R6-95, Table 3).
 *
 * Why this form: pressure-explicit equations fit p(ρ, T) and leave energy to an integral that never quite agrees with it; then a stroke run
 * round in a circle would gain or lose energy. Derivatives of one function cannot disagree. Every term is n δ^d τ^t times an exponential, so
 * its derivatives are the term itself times small polynomials: one power and one exponential a term give all six sums.
 *
 * The powers of τ cost most and change only with the temperature: they are kept for the last temperature asked.
 */

/** One residual term: n δ^d τ^t, times exp(−δ^l) where l is above 0. */
export type PowerTerm = readonly [n: number, d: number, t: number, l: number];

/** One bell-shaped residual term: n δ^d τ^t exp(−η (δ − ε)² − β (τ − γ)²). */
export type BellTerm = readonly [
  n: number,
  d: number,
  t: number,
  eta: number,
  beta: number,
  gamma: number,
  epsilon: number,
];

/** The ideal-gas part of the energy: what is left as the density goes to zero. */
export interface IdealPart {
  /** Heat capacity at constant volume without vibrations, by R: the factor of ln τ in α⁰. */
  readonly heat: number;
  /** Terms n τ^t of α⁰, where the source has any. */
  readonly powers?: readonly (readonly [n: number, t: number])[];
  /** Vibrations: n ln(1 − exp(−θ/T)), θ in K. */
  readonly vibrations: readonly (readonly [n: number, theta: number])[];
}

/** Coefficients of an equation as published. */
export interface HelmholtzEquation {
  /** kg/mol */
  readonly molarMass: number;
  /** J/(mol K), the value the coefficients were fitted with. */
  readonly gasConstant: number;
  /** K */
  readonly reducingTemperature: number;
  /** mol/m3 */
  readonly reducingDensity: number;
  readonly ideal: IdealPart;
  readonly powers: readonly PowerTerm[];
  readonly bells: readonly BellTerm[];
}

/** Properties of one state; per kg, SI. Energies and entropies from an arbitrary zero. */
export interface HelmholtzState {
  /** Pa */
  readonly pressure: number;
  /** dp/dρ at constant temperature, m2/s2 */
  readonly stiffness: number;
  /** J/kg */
  readonly energy: number;
  /** J/(kg K) */
  readonly entropy: number;
  /** J/(kg K) */
  readonly cv: number;
  readonly cp: number;
  /** m/s */
  readonly soundSpeed: number;
}

/** The equation as functions of density (kg/m3) and temperature (K). */
export interface Helmholtz {
  /** J/(kg K) */
  readonly gasConstant: number;
  pressure(density: number, temperature: number): number;
  /** dp/dρ at constant temperature. */
  stiffness(density: number, temperature: number): number;
  energy(density: number, temperature: number): number;
  entropy(density: number, temperature: number): number;
  cv(density: number, temperature: number): number;
  state(density: number, temperature: number): HelmholtzState;
}

/** Sums over the residual terms at one state: αʳ and its derivatives, each with the δ and τ it is multiplied by everywhere. */
interface Sums {
  /** αʳ, τ αʳ_τ, τ² αʳ_ττ */
  a: number;
  at: number;
  att: number;
  /** δ αʳ_δ, δ² αʳ_δδ, δ τ αʳ_δτ */
  ad: number;
  add: number;
  adt: number;
}

/** @param ownHeat where given, the ideal part has this constant cv/R instead of its own: a polytropic change (see `GasLaw`). */
export function helmholtz(equation: HelmholtzEquation, ownHeat: number | null = null): Helmholtz {
  const { molarMass, gasConstant, reducingTemperature: Tr } = equation;
  const R = gasConstant / molarMass;
  const reducing = equation.reducingDensity * molarMass;
  const residual = residualPart(equation);
  const ideal = ownHeat === null ? idealPart(equation.ideal, Tr) : constantHeat(ownHeat);
  const state = (density: number, T: number): HelmholtzState => {
    const s = residual.all(density / reducing, Tr / T);
    const i = ideal(Tr / T);
    const cv = -R * (i.att + s.att);
    // (∂p/∂T)/(ρR), then (∂p/∂ρ)/(RT): the two that heat capacities and the speed of sound are built from.
    const slope = 1 + s.ad - s.adt;
    const bend = 1 + 2 * s.ad + s.add;
    const heat = (slope * slope) / (-i.att - s.att);
    return {
      pressure: density * R * T * (1 + s.ad),
      stiffness: R * T * bend,
      energy: R * T * (i.at + s.at),
      entropy: R * (i.at + s.at - i.a - s.a - Math.log(density / reducing)),
      cv,
      cp: cv + (R * slope * slope) / bend,
      soundSpeed: Math.sqrt(R * T * (bend + heat)),
    };
  };
  return {
    gasConstant: R,
    pressure: (density, T) => density * R * T * (1 + residual.slope(density / reducing, Tr / T)),
    stiffness: (density, T) => {
      const s = residual.all(density / reducing, Tr / T);
      return R * T * (1 + 2 * s.ad + s.add);
    },
    energy: (density, T) => R * T * (ideal(Tr / T).at + residual.all(density / reducing, Tr / T).at),
    entropy: (density, T) => state(density, T).entropy,
    cv: (density, T) => -R * (ideal(Tr / T).att + residual.all(density / reducing, Tr / T).att),
    state,
  };
}

interface IdealSums {
  /** α⁰ without ln δ, τ α⁰_τ, τ² α⁰_ττ */
  readonly a: number;
  readonly at: number;
  readonly att: number;
}

/** The ideal part of a gas of constant heat capacity `heat` · R. */
function constantHeat(heat: number): (tau: number) => IdealSums {
  return (tau) => ({ a: heat * Math.log(tau), at: heat, att: -heat });
}

function idealPart({ heat, powers = [], vibrations }: IdealPart, Tr: number): (tau: number) => IdealSums {
  let last = Number.NaN;
  let sums: IdealSums = { a: 0, at: 0, att: 0 };
  return (tau) => {
    if (tau === last) return sums;
    // Sums of each term and of τ and τ² times its derivatives: the powers of τ that the derivatives would divide by cancel.
    let a = heat * Math.log(tau);
    let at = heat;
    let att = -heat;
    for (const [n, t] of powers) {
      const term = n * Math.pow(tau, t);
      a += term;
      at += t * term;
      att += t * (t - 1) * term;
    }
    for (const [n, theta] of vibrations) {
      const x = (theta / Tr) * tau;
      const e = Math.exp(-x);
      a += n * Math.log1p(-e);
      at += (n * x * e) / (1 - e);
      att -= (n * x * x * e) / ((1 - e) * (1 - e));
    }
    last = tau;
    sums = { a, at, att };
    return sums;
  };
}

interface Residual {
  /** δ αʳ_δ alone: all that the pressure needs. */
  slope(delta: number, tau: number): number;
  all(delta: number, tau: number): Sums;
}

/** What the residual terms are at one temperature and density, but for each other: recomputed only where one of them changed. */
interface Factors {
  /** Of each term (powers, then bells) its size, and τ and τ² times its first two relative derivatives: belong to τ alone. */
  readonly size: Float64Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
  /** δ^k, and exp(−δ^k). */
  readonly deltas: Float64Array;
  readonly decays: Float64Array;
  at(delta: number, tau: number): void;
}

/** Invariant: `size`, `first` and `second` belong to the temperature asked last, `deltas` and `decays` to the density asked last. */
function createFactors({ powers, bells }: HelmholtzEquation): Factors {
  const most = Math.max(...powers.map((p) => p[1]), ...bells.map((b) => b[1]));
  const steepest = Math.max(0, ...powers.map((p) => p[3]));
  const size = new Float64Array(powers.length + bells.length);
  const first = new Float64Array(size.length);
  const second = new Float64Array(size.length);
  const deltas = new Float64Array(most + 1);
  const decays = new Float64Array(steepest + 1);
  let last = Number.NaN;

  function warm(tau: number): void {
    if (tau === last) return;
    const log = Math.log(tau);
    for (let k = 0; k < powers.length; k++) {
      const [n, , t] = powers[k]!;
      size[k] = n * Math.exp(t * log);
      first[k] = t;
      second[k] = t * (t - 1);
    }
    for (let k = 0; k < bells.length; k++) {
      const [n, , t, , beta, gamma] = bells[k]!;
      const off = tau - gamma;
      const slope = t - 2 * beta * tau * off;
      const at = powers.length + k;
      size[at] = n * Math.exp(t * log - beta * off * off);
      first[at] = slope;
      second[at] = slope * slope - t - 2 * beta * tau * tau;
    }
    last = tau;
  }

  function raise(delta: number): void {
    // All whole powers of δ that any term needs, by one multiplication each.
    deltas[0] = 1;
    for (let k = 1; k <= most; k++) deltas[k] = deltas[k - 1]! * delta;
    decays[0] = 1;
    let power = 1;
    for (let k = 1; k <= steepest; k++) decays[k] = Math.exp(-(power *= delta));
  }

  const at = (delta: number, tau: number): void => {
    warm(tau);
    raise(delta);
  };
  return { size, first, second, deltas, decays, at };
}

function residualPart(equation: HelmholtzEquation): Residual {
  const { powers, bells } = equation;
  const factors = createFactors(equation);
  const { size, first, second, deltas, decays } = factors;
  const sums: Sums = { a: 0, at: 0, att: 0, ad: 0, add: 0, adt: 0 };
  return {
    slope(delta, tau) {
      factors.at(delta, tau);
      let sum = 0;
      for (let k = 0; k < powers.length; k++) {
        const p = powers[k]!;
        const l = p[3];
        // δ ∂/∂δ of δ^d exp(−δ^l) is d − l δ^l times the term.
        const relative = l === 0 ? p[1] : p[1] - l * deltas[l]!;
        sum += size[k]! * deltas[p[1]]! * decays[l]! * relative;
      }
      for (let k = 0; k < bells.length; k++) {
        const b = bells[k]!;
        const off = delta - b[6];
        const term = size[powers.length + k]! * deltas[b[1]]! * Math.exp(-b[3] * off * off);
        sum += term * (b[1] - 2 * b[3] * delta * off);
      }
      return sum;
    },
    all(delta, tau) {
      factors.at(delta, tau);
      sums.a = sums.at = sums.att = sums.ad = sums.add = sums.adt = 0;
      for (let k = 0; k < powers.length; k++) {
        const p = powers[k]!;
        const l = p[3];
        const decay = l === 0 ? 0 : l * deltas[l]!;
        const relative = p[1] - decay;
        const bend = relative * relative - p[1] - (l - 1) * decay;
        addTerm(sums, size[k]! * deltas[p[1]]! * decays[l]!, relative, bend, first[k]!, second[k]!);
      }
      for (let k = 0; k < bells.length; k++) {
        const b = bells[k]!;
        const at = powers.length + k;
        const off = delta - b[6];
        const relative = b[1] - 2 * b[3] * delta * off;
        const term = size[at]! * deltas[b[1]]! * Math.exp(-b[3] * off * off);
        addTerm(sums, term, relative, relative * relative - b[1] - 2 * b[3] * delta * delta, first[at]!, second[at]!);
      }
      return sums;
    },
  };
}

/** Adds a term with its relative derivatives: δ and δ² times those by δ, τ and τ² times those by τ. */
function addTerm(sums: Sums, term: number, d: number, dd: number, t: number, tt: number): void {
  sums.a += term;
  sums.ad += term * d;
  sums.add += term * dd;
  sums.at += term * t;
  sums.att += term * tt;
  sums.adt += term * d * t;
}
