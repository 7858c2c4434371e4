/**
 * Inputs that turn at the very moment of power-on: a door that the first evaluation would send off and the input calls back at once has not
 * moved. Every order of an event of one door and an event of the other, against exhaustive exploration.
 */
import { describe, expect, it } from 'vitest';
import type { Rig, TimeValue } from '../../server/core/model/rig';
import type { Property } from '../../server/core/proof/monitor';
import { createProof } from '../../server/core/proof/prove';
import { initialInputs } from '../../server/core/timing/engine';
import { and, not, NOWHERE, sketch, TOF, TON, TP, type Term } from '../support/network';
import { truths } from '../support/trackers';

const EVENTS = ['opens', 'opened', 'closes', 'shuts'] as const;
const ORDERS = EVENTS.flatMap((one) =>
  EVENTS.flatMap((other) => [
    [{ door: 0, event: one } as const, { door: 1, event: other } as const],
    [{ door: 1, event: other } as const, { door: 0, event: one } as const],
  ]),
).map((events, k): Property => ({ kind: 'order', name: `order ${k}`, events }));

interface Case {
  readonly what: string;
  readonly response: number;
  readonly travels: readonly [number, number];
  /** Doors that rest open. */
  readonly open: readonly string[];
  /** What drives the doors `a` and `b`. */
  readonly a: Term;
  readonly b: Term;
  /** Least on and off time of the sensor, µs. */
  readonly least: number;
}

const pulse = TOF(TP('s', 2), 1);
const CASES: readonly Case[] = [
  { what: 'one rests open', response: 0, travels: [3, 2], open: ['b'], a: 'a_on', b: 'a_on', least: 0 },
  { what: 'both rest open', response: 0, travels: [3, 2], open: ['a', 'b'], a: 'a_on', b: 'a_on', least: 0 },
  { what: 'both rest shut', response: 0, travels: [1, 1], open: [], a: not('s'), b: TON('s', 1), least: 5 },
  { what: 'without travel', response: 0, travels: [0, 1], open: [], a: not('s'), b: TON('s', 1), least: 5 },
  { what: 'open without travel', response: 0, travels: [0, 1], open: ['a'], a: 's', b: TON('s', 1), least: 5 },
  {
    what: 'one response later',
    response: 1,
    travels: [1, 1],
    open: [],
    a: not('s'),
    b: TON(not('to_a'), 2),
    least: 5,
  },
  {
    what: 'open, one response later',
    response: 1,
    travels: [1, 1],
    open: ['a'],
    a: and('s', 's'),
    b: TON('to_a', 2),
    least: 5,
  },
];

function rigOf({ response, travels, open, a, b, least }: Case): Rig {
  const rest = (name: string) => (open.includes(name) ? 'open' : 'closed');
  const rig = sketch({
    response,
    sensors: { s: 'above' },
    signals: { a_on: pulse, to_a: a, to_b: b },
    doors: { a: { travel: travels[0], rest: rest('a') }, b: { travel: travels[1], rest: rest('b') } },
    drives: { a: 'to_a', b: 'to_b' },
    stacks: [['a', 'b']],
  });
  const time: TimeValue | null = least === 0 ? null : { nominal: least, min: least, max: least, at: NOWHERE };
  return { ...rig, sensors: rig.sensors.map((sensor) => ({ ...sensor, minOn: time, minOff: time })) };
}

describe.each(CASES)('doors called back at power-on, $what', (given) => {
  it('are in the order in which they are seen to move', () => {
    const rig = rigOf(given);
    const proof = createProof(rig, ORDERS, { initial: initialInputs(rig) });
    while (!proof.run(2_000) && proof.explored < 20_000);
    const truth = truths(rig, ORDERS, 20_000);
    const verdicts = proof.results().map(({ verdict }) => verdict.state);
    const wrong = ORDERS.filter((_, k) => verdicts[k] !== 'undecided' && (verdicts[k] === 'refuted') !== truth[k]);
    expect(wrong).toEqual([]);
    expect(verdicts.filter((state) => state === 'undecided').length).toBeLessThan(5);
    expect(truth).not.toContain(null);
  });
});
