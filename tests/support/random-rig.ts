/** Small random rigs with times of a few microseconds, and properties to ask of them. Deterministic in the stream of numbers. */
import type { Condition, Rig, TimeValue } from '../../server/core/model/rig';
import type { Property } from '../../server/core/proof/monitor';
import { builtinProperties } from '../../server/core/proof/builtin';
import { initialInputs } from '../../server/core/timing/engine';
import type { Random } from '../../server/core/timing/tolerance';
import { and, CTU, F_TRIG, NOWHERE, not, or, R_TRIG, RS, sketch, SR, TOF, TON, TP, xor, type Term } from './network';

const whole = (random: Random, from: number, to: number): number => from + Math.floor(random() * (to - from + 1));
const pick = <T>(random: Random, items: readonly T[]): T => items[Math.floor(random() * items.length)]!;

function randomTerm(random: Random, names: readonly string[], depth: number): Term {
  const term = (): Term => randomTerm(random, names, depth - 1);
  if (depth <= 0 || random() < 0.2) return random() < 0.7 ? pick(random, names) : not(pick(random, names));
  const preset = whole(random, 1, 4);
  const make: readonly (() => Term)[] = [
    () => and(term(), term()),
    () => or(term(), term()),
    () => xor(term(), term()),
    () => TON(term(), preset),
    () => TON(term(), preset),
    () => TOF(term(), preset),
    () => TOF(term(), preset),
    () => TP(term(), preset),
    () => (random() < 0.5 ? R_TRIG(term()) : F_TRIG(term())),
    () => (random() < 0.5 ? SR(term(), term()) : RS(term(), term())),
    () => CTU(term(), term(), whole(random, 1, 2)),
  ];
  return pick(random, make)();
}

/** Two or three doors in a row, a sensor, often a switch that is on. */
export function randomSmallRig(random: Random): Rig {
  const inputs =
    random() < 0.5
      ? { sensors: { s: 'above' as const }, switches: { run: random() < 0.75 } }
      : { sensors: { s: 'above' as const } };
  const names = ['s', ...('switches' in inputs ? ['run'] : [])];
  const signals: Record<string, Term | { is: Term; responds: number }> = {};
  const count = whole(random, 2, 3);
  for (let k = 0; k < count; k++) {
    // Now and then a signal that is written further on: feedback.
    const known = [...names, ...Object.keys(signals), ...(random() < 0.2 ? [`g${count - 1}`] : [])];
    const is = randomTerm(random, known, 2);
    const gated = 'switches' in inputs && random() < 0.3 ? and('run', is) : is;
    signals[`g${k}`] = random() < 0.1 ? { is: gated, responds: whole(random, 0, 2) } : gated;
  }
  const style = random() < 0.35 ? { scan: whole(random, 1, 3) } : { response: whole(random, 0, 2) };
  const doors = ['a', 'b', 'c'].slice(0, random() < 0.35 ? 3 : 2);
  const door = () => ({ travel: whole(random, 0, 3), rest: random() < 0.15 ? ('open' as const) : ('closed' as const) });
  const rig = sketch({
    ...style,
    ...inputs,
    signals,
    doors: Object.fromEntries(doors.map((name) => [name, door()])),
    drives: Object.fromEntries(doors.map((name) => [name, `g${whole(random, 0, count - 1)}`])),
    stacks: [doors],
  });
  return withPockets(random() < 0.3 ? withLeastTimes(random, rig) : rig);
}

const exact = (value: number): TimeValue => ({ nominal: value, min: value, max: value, at: NOWHERE });

function withLeastTimes(random: Random, rig: Rig): Rig {
  const times = () => ({ minOn: exact(whole(random, 0, 4)), minOff: exact(whole(random, 0, 4)) });
  return {
    ...rig,
    sensors: rig.sensors.map((s) => ({ ...s, ...times() })),
    switches: rig.switches.map((s) => (random() < 0.3 ? { ...s, ...times() } : s)),
  };
}

const withPockets = (rig: Rig): Rig => ({
  ...rig,
  doors: rig.doors.map((d) => ({ ...d, pocket: exact(1) })),
});

/** All that is asked of any rig, and one or two questions more. */
export function randomProperties(random: Random, rig: Rig): Property[] {
  const builtin = builtinProperties(rig, initialInputs(rig));
  const doors = rig.doors.map((_, d) => d);
  const more: (() => Property)[] = [
    () => ({ kind: 'gap', name: 'gap', doors: random() < 0.5 ? [0, 1] : [1, 0], least: whole(random, 0, 3) }),
    () => ({ kind: 'order', name: 'order', events: randomOrder(random, doors) }),
    () => ({ kind: 'never', name: 'never', condition: randomCondition(random, rig, 2) }),
  ];
  const wanted = random() < 0.3 ? 2 : 1;
  const first = whole(random, 0, 2);
  const asked = more.slice(first).concat(more.slice(0, first)).slice(0, wanted);
  const vented = random() < 0.3 ? builtin.map((p) => withVent(rig, p)) : builtin;
  return [...vented, ...asked.map((make) => make())];
}

/** A path that the first switch is meant to open; the path itself says nothing about what is asked. */
function withVent(rig: Rig, property: Property): Property {
  const [lever] = rig.switches;
  if (!lever || (property.kind !== 'straight-through' && property.kind !== 'power-loss')) return property;
  const vent = { switch: 0, net: lever.net, thrown: !lever.initial };
  return { ...property, vents: [{ ...vent, path: { from: -1, to: -1, doors: property.doors } as never }] };
}

const EVENTS = ['opens', 'opened', 'closes', 'shuts'] as const;

function randomOrder(random: Random, doors: readonly number[]): Extract<Property, { kind: 'order' }>['events'] {
  const count = whole(random, 2, 4);
  const events = Array.from({ length: count }, () => ({ door: pick(random, doors), event: pick(random, EVENTS) }));
  return events.filter((e, k) => events.findIndex((o) => o.door === e.door && o.event === e.event) === k);
}

function randomCondition(random: Random, rig: Rig, depth: number): Condition {
  if (depth === 0 || random() < 0.2) {
    if (random() < 0.5) return { op: 'door', door: whole(random, 0, rig.doors.length - 1) };
    const { net } = pick(random, [...rig.signals, ...rig.signals, ...rig.sensors, ...rig.switches]);
    return { op: 'net', net };
  }
  const part = (): Condition => randomCondition(random, rig, depth - 1);
  if (random() < 0.3) return { op: 'not', a: part() };
  return { op: pick(random, ['and', 'and', 'or', 'xor'] as const), a: part(), b: part() };
}

/** A rig as one line, for messages. */
export function rigWords(rig: Rig): string {
  const { network, doors, drives, controller } = rig;
  const elements = network.elements.map((e) => ({
    net: e.net,
    kind: e.kind,
    in: e.inputs,
    preset: e.preset?.nominal,
    response: e.response.nominal,
  }));
  const inputs = [...rig.switches, ...rig.sensors].map((i) => [i.name, i.net, i.minOn?.min, i.minOff?.min]);
  return JSON.stringify({
    style: controller.style,
    time: controller.time.nominal,
    inputs,
    elements,
    doors: doors.map((d) => [d.opensIn.nominal, d.closesIn.nominal, d.rest]),
    drives: drives.map((d) => [d.target, d.net]),
  });
}
