/**
 * Small random rigs in which what happens together at one instant decides: two or three inputs with several readers each, mostly no response, pulses of
 * one round that start, stop and restart timers, latches set and reset at once, counters, inputs that drive a door or part of its signal themselves.
 * Deterministic in the stream of numbers.
 */
import type { Rig, TimeValue } from '../../server/core/model/rig';
import type { Random } from '../../server/core/timing/tolerance';
import { and, CTU, F_TRIG, NOWHERE, not, or, R_TRIG, RS, sketch, SR, TOF, TON, TP, xor, type Term } from './network';

const whole = (random: Random, from: number, to: number): number => from + Math.floor(random() * (to - from + 1));
const pick = <T>(random: Random, items: readonly T[]): T => items[Math.floor(random() * items.length)]!;
const exact = (value: number): TimeValue => ({ nominal: value, min: value, max: value, at: NOWHERE });

/** Blocks around what is read, pulses of one round more often than not in front of timers, latches and counters. */
function randomBlock(random: Random, term: () => Term): Term {
  const pulse = (): Term => pick<(a: Term) => Term>(random, [R_TRIG, F_TRIG, (a) => a])(term());
  const preset = whole(random, 1, 3);
  const make: readonly (() => Term)[] = [
    () => TON(pulse(), preset),
    () => TOF(pulse(), preset),
    () => TP(pulse(), preset),
    () => TON(or(term(), pulse()), preset),
    () => TOF(and(term(), not(pulse())), preset),
    () => SR(pulse(), pulse()),
    () => RS(pulse(), pulse()),
    () => CTU(pulse(), pulse(), whole(random, 1, 2)),
    () => SR(pulse(), TON(term(), preset)),
    () => pick(random, [and, or, xor])(term(), pulse()),
    () => and(term(), not(term())),
  ];
  return pick(random, make)();
}

/** Two doors in a row, two or three inputs, two or three signals of which later ones often read the earlier ones. */
export function hostileRig(random: Random): Rig {
  const three = random() < 0.5;
  const switches: Record<string, boolean> = random() < 0.5 ? { run: random() < 0.75 } : {};
  const sensors: Record<string, 'above' | 'below'> = { p: 'above' };
  if (three || !('run' in switches)) sensors['q'] = pick(random, ['above', 'below'] as const);
  if (three && !('run' in switches)) sensors['r'] = 'above';
  const inputs = [...Object.keys(switches), ...Object.keys(sensors)];
  const count = whole(random, 2, 3);
  const style =
    random() < 0.15 ? { scan: whole(random, 1, 2) } : { response: random() < 0.65 ? 0 : whole(random, 1, 2) };
  const signals: Record<string, Term | { is: Term; responds: number }> = {};
  for (let k = 0; k < count; k++) {
    const before = Object.keys(signals);
    const leaf = (): Term => {
      const name = random() < 0.65 || before.length === 0 ? pick(random, inputs) : pick(random, before);
      return random() < 0.75 ? name : not(name);
    };
    const is = random() < 0.5 ? randomBlock(random, leaf) : randomBlock(random, () => randomBlock(random, leaf));
    signals[`g${k}`] = random() < 0.15 ? { is, responds: whole(random, 0, 2) } : is;
  }
  const door = () => ({ travel: whole(random, 0, 3), rest: random() < 0.15 ? ('open' as const) : ('closed' as const) });
  const driving = (): string =>
    random() < 0.1 && !('scan' in style) ? pick(random, inputs) : `g${whole(random, 0, count - 1)}`;
  const rig = sketch({
    ...style,
    switches,
    sensors,
    signals,
    doors: { a: door(), b: door() },
    drives: { a: driving(), b: driving() },
    stacks: [['a', 'b']],
  });
  const pockets = { ...rig, doors: rig.doors.map((d) => ({ ...d, pocket: exact(1) })) };
  return random() < 0.25 ? withLeastTimes(random, pockets) : pockets;
}

/** One input that may not turn at any moment, others that may. */
function withLeastTimes(random: Random, rig: Rig): Rig {
  const times = { minOn: exact(whole(random, 0, 3)), minOff: exact(whole(random, 0, 3)) };
  return { ...rig, sensors: rig.sensors.map((s, k) => (k === 0 ? { ...s, ...times } : s)) };
}

/** Inputs of their own behind the response of a formula that reads, beside them, pulses of one round of others: what comes in which round is delayed with it. */
export function delayedRig(random: Random): Rig {
  const preset = whole(random, 1, 3);
  const pulse = (): Term =>
    pick<(a: Term) => Term>(random, [R_TRIG, F_TRIG, (a) => SR(a, false), (a) => TOF(a, preset), not])('q');
  const beside = (): Term => pick<Term>(random, ['x', 'x', not('x'), 'y', not('y')]);
  const joined = (a: Term, b: Term): Term => pick(random, [and, and, or, xor])(a, b);
  // What comes in the first round beside what comes of it in the second: both in one formula.
  const formula = (a: Term): Term => joined(a, joined(beside(), pick<Term>(random, ['q', 'q', not('q'), beside()])));
  const own = (): Term => (random() < 0.7 ? 'p' : not('p'));
  const block = (a: Term): Term =>
    pick<(a: Term) => Term>(random, [
      (t) => CTU(t, false, whole(random, 1, 2)),
      (t) => CTU(t, 'x', 2),
      (t) => SR(t, false),
      (t) => TP(t, preset),
      (t) => TON(t, preset),
      (t) => TOF(t, preset),
      R_TRIG,
      F_TRIG,
      (t) => SR(t, beside()),
      (t) => t,
    ])(a);
  const at = (is: Term, responds: number): { is: Term; responds: number } => ({ is, responds });
  const door = () => ({ travel: whole(random, 0, 2), rest: random() < 0.1 ? ('open' as const) : ('closed' as const) });
  const rig = sketch({
    response: whole(random, 1, 2),
    switches: random() < 0.3 ? { run: true } : {},
    sensors: { p: 'above', q: 'above' },
    signals: {
      x: at(pulse(), random() < 0.8 ? 0 : 1),
      y: at(pick<Term>(random, [R_TRIG('x'), TOF('x', preset), SR('q', 'g1'), not('x')]), random() < 0.7 ? 0 : 1),
      g0: random() < 0.7 ? formula(own()) : and(formula(own()), not('g1')),
      g1: at(block('g0'), random() < 0.4 ? 0 : whole(random, 1, 2)),
    },
    doors: { a: door(), b: door() },
    drives: { a: pick(random, ['g0', 'g1']), b: pick(random, ['g1', 'g1', 'y', 'g0']) },
    stacks: [['a', 'b']],
  });
  return { ...rig, doors: rig.doors.map((d) => ({ ...d, pocket: exact(1) })) };
}

/** A latch of inputs that nothing else reads, behind a response, and what is made of it. */
export function latchRig(random: Random): Rig {
  const preset = whole(random, 1, 3);
  const maybeNot = (a: Term): Term => (random() < 0.75 ? a : not(a));
  const kind = random() < 0.5 ? SR : RS;
  const set = random() < 0.3 ? pick(random, [and, or, xor])('begin', maybeNot('p')) : maybeNot('begin');
  const block = (a: Term): Term =>
    pick<(t: Term) => Term>(random, [
      (t) => t,
      (t) => CTU(t, false, whole(random, 1, 2)),
      (t) => TON(t, preset),
      (t) => TOF(t, preset),
      (t) => TP(t, preset),
      R_TRIG,
      F_TRIG,
    ])(a);
  const door = () => ({ travel: whole(random, 0, 2) });
  const rig = sketch({
    response: whole(random, 1, 2),
    switches: { begin: random() < 0.3, halt: random() < 0.2 },
    sensors: random() < 0.5 ? { p: 'above' } : { p: 'below' },
    signals: {
      going: kind(set, maybeNot('halt')),
      g0: random() < 0.5 ? block('going') : and('going', not('g1')),
      g1: random() < 0.5 ? block('g0') : block(and(not('g0'), pick<Term>(random, ['going', not('going')]))),
    },
    doors: { a: door(), b: door() },
    drives: { a: pick(random, ['going', 'g0']), b: 'g1' },
    stacks: [['a', 'b']],
  });
  const pockets = { ...rig, doors: rig.doors.map((d) => ({ ...d, pocket: exact(1) })) };
  if (random() < 0.6) return pockets;
  const times = { minOn: exact(whole(random, 0, 3)), minOff: exact(whole(random, 0, 3)) };
  return { ...pockets, switches: pockets.switches.map((s, k) => (k === 0 ? { ...s, ...times } : s)) };
}
