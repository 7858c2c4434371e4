/** Seeded chance for tests: a small generator, and random control networks with operations to run them by. */
import { CTU, F_TRIG, MS, R_TRIG, RS, SR, TOF, TON, TP, and, not, or, sketch, xor } from './network';
import type { SignalSketch, Sketch, Term } from './network';
import type { Rig } from '../../server/core/model/rig';

/** A stream of numbers in [0, 1): the 32-bit mixer known as mulberry32 (public domain). */
export type Random = () => number;

export function seeded(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 15), z | 1);
    z ^= z + Math.imul(z ^ (z >>> 7), z | 61);
    return ((z ^ (z >>> 14)) >>> 0) / 4294967296;
  };
}

export const integer = (random: Random, from: number, to: number): number =>
  from + Math.floor(random() * (to - from + 1));
export const pick = <T>(random: Random, list: readonly T[]): T => list[integer(random, 0, list.length - 1)];

/** An operation from outside: input net `net` becomes `value` at `t` µs. */
export interface Stimulus {
  readonly t: number;
  readonly net: number;
  readonly value: boolean;
}

export interface RandomCase {
  readonly seed: number;
  readonly rig: Rig;
  readonly stimuli: readonly Stimulus[];
  readonly until: number;
}

/** Times on a coarse grid, so that edges and expiries often fall together. */
const GRID = 10 * MS;

interface Style {
  readonly times: Pick<Sketch, 'response' | 'scan'>;
  readonly step: number;
}

function style(random: Random): Style {
  const kind = random();
  if (kind < 0.3) return { times: { response: 0 }, step: GRID };
  if (kind < 0.65) {
    const response = pick(random, [10, 20, 50, 100]) * MS;
    return { times: { response }, step: GRID };
  }
  return { times: { scan: pick(random, [5, 10, 20]) * MS }, step: 5 * MS };
}

interface Scope {
  readonly random: Random;
  readonly names: readonly string[];
  readonly preset: () => number;
}

function term(scope: Scope, depth: number): Term {
  const { random } = scope;
  const leaf = depth <= 0 || random() < 0.25;
  if (leaf) return random() < 0.03 ? random() < 0.5 : pick(random, scope.names);
  const sub = () => term(scope, depth - 1);
  const kind = random();
  if (kind < 0.1) return not(sub());
  if (kind < 0.2) return and(sub(), sub());
  if (kind < 0.3) return or(sub(), sub());
  if (kind < 0.36) return xor(sub(), sub());
  if (kind < 0.5) return TON(sub(), scope.preset());
  if (kind < 0.64) return TOF(sub(), scope.preset());
  if (kind < 0.74) return TP(sub(), scope.preset());
  if (kind < 0.79) return R_TRIG(sub());
  if (kind < 0.84) return F_TRIG(sub());
  if (kind < 0.89) return SR(sub(), sub());
  if (kind < 0.94) return RS(sub(), sub());
  return CTU(sub(), sub(), integer(random, 0, 3));
}

/** What every random rig is made of: a style, inputs, signals over them, and doors driven by some of the signals. */
function randomSketch(
  random: Random,
  seed: number,
): Sketch & { readonly step: number; readonly inputs: readonly string[] } {
  const { times, step } = style(random);
  const inputs = Array.from({ length: integer(random, 1, 3) }, (_, i) => `in${i}`);
  const signals = Array.from({ length: integer(random, 1, 6) }, (_, i) => `s${i}`);
  const preset = () => (random() < 0.05 ? 0 : integer(random, 1, 30) * GRID);
  const scope: Scope = { random, names: [...inputs, ...inputs, ...signals], preset };
  const body = (): Term | SignalSketch => {
    const is = term(scope, integer(random, 1, 3));
    const own = random();
    if (times.response === undefined || own < 0.8) return is;
    return { is, responds: own < 0.9 ? 0 : integer(random, 1, 8) * GRID };
  };
  const bodies = Object.fromEntries(signals.map((name) => [name, body()]));
  return { ...times, name: `random_${seed}`, signals: bodies, step, inputs };
}

/** A random control network, and a random course of its switches. Deterministic in `seed`. */
export function randomCase(seed: number): RandomCase {
  const random = seeded(seed);
  const { step, inputs, ...plan } = randomSketch(random, seed);
  const rig = sketch({ ...plan, switches: Object.fromEntries(inputs.map((name) => [name, random() < 0.3])) });
  return { seed, rig, stimuli: randomStimuli(random, rig, step), until: 3000 * MS };
}

/** A random rig with sensors, a switch and up to three doors in a stack. Deterministic in `seed`. */
export function randomRig(seed: number): Rig {
  const random = seeded(seed);
  const { inputs, step: _step, ...plan } = randomSketch(random, seed);
  const [first, ...others] = inputs;
  const doors = ['upper', 'middle', 'lower'].slice(0, integer(random, 1, 3));
  const door = () => ({
    opensIn: integer(random, 0, 20) * 7 * MS,
    closesIn: integer(random, 0, 20) * 11 * MS,
    rest: random() < 0.1 ? ('open' as const) : ('closed' as const),
  });
  return sketch({
    ...plan,
    switches: Object.fromEntries(others.map((name) => [name, random() < 0.5])),
    sensors: { [first]: random() < 0.8 ? 'above' : 'below' },
    doors: Object.fromEntries(doors.map((name) => [name, door()])),
    drives: Object.fromEntries(doors.map((name) => [name, pick(random, Object.keys(plan.signals!))])),
    stacks: [doors],
  });
}

function randomStimuli(random: Random, rig: Rig, step: number): Stimulus[] {
  const value = rig.switches.map((s) => s.initial);
  const stimuli: Stimulus[] = [];
  let t = 0;
  for (let i = integer(random, 4, 16); i > 0; i--) {
    t += random() < 0.2 ? 0 : integer(random, 1, 40) * step;
    const which = integer(random, 0, value.length - 1);
    value[which] = !value[which];
    stimuli.push({ t, net: rig.switches[which].net, value: value[which] });
  }
  return stimuli;
}
