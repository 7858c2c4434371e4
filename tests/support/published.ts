/**
 * Two published models of protocols, written for `automataSystem`, with constants from memory.
 *
 * CSMA/CD: X. Nicollin, J. Sifakis and S. Yovine, "Compiling real-time specifications into extended automata", IEEE Trans. Softw. Eng. 18, 794,
 * 1992: stations on a bus with propagation delay σ = 26 µs and frames of λ = 808 µs. A station that has sent for 2σ without a collision has the
 * bus to itself.
 *
 * FDDI token ring: a timed-automaton model as C. Daws, A. Olivero, S. Tripakis and S. Yovine gave it in 1996. By K. C. Sevcik and M. J. Johnson,
 * "Cycle time properties of the FDDI token ring protocol", IEEE Trans. Softw. Eng. 13, 376, 1987, the token comes round within twice its target
 * rotation time.
 */
import type { AutomataModel, Automaton, AutomatonEdge } from './automaton';

/** Units of a microsecond: strict bounds are one unit tighter. */
const U = 10;
const SIGMA = 26 * U;
const LAMBDA = 808 * U;

/** Two stations; broken where one still meets another after it has sent for `detect` units. */
export function csma(detect: number): AutomataModel {
  const bus = 3;
  const station = (k: 1 | 2): Automaton => {
    const send = (variables: number[]): void => void (variables[k - 1] = 1);
    const cease = (variables: number[]): void => void (variables[k - 1] = 0);
    return {
      initial: 'wait',
      invariants: {
        send: [{ clock: k, relation: '<=', value: LAMBDA }],
        retry: [{ clock: k, relation: '<', value: 2 * SIGMA }],
      },
      edges: [
        { from: 'wait', to: 'send', sync: 'begin!', reset: [k], set: send, label: `${k} begins` },
        { from: 'wait', to: 'retry', sync: 'busy?', reset: [k], label: `${k} finds the bus busy` },
        { from: 'wait', to: 'wait', sync: `hit${k}?`, reset: [k], label: `${k} hears a collision` },
        { from: 'wait', to: 'retry', sync: `hit${k}?`, reset: [k], label: `${k} hears a collision and has a frame` },
        {
          from: 'send',
          to: 'wait',
          sync: 'end!',
          guard: [{ clock: k, relation: '=', value: LAMBDA }],
          reset: [k],
          set: cease,
          label: `${k} ends`,
        },
        { from: 'send', to: 'retry', sync: `hit${k}?`, reset: [k], set: cease, label: `${k} collides` },
        { from: 'retry', to: 'send', sync: 'begin!', reset: [k], set: send, label: `${k} begins again` },
        { from: 'retry', to: 'retry', sync: 'busy?', reset: [k], label: `${k} waits on` },
        { from: 'retry', to: 'retry', sync: `hit${k}?`, reset: [k], label: `${k} hears another collision` },
        {
          from: 'send',
          to: 'late',
          guard: [{ clock: k, relation: '>=', value: detect }],
          when: (variables) => variables[2 - k] === 1,
          label: `${k} is not alone`,
        },
      ],
    };
  };
  const medium: Automaton = {
    initial: 'idle',
    invariants: { collision: [{ clock: bus, relation: '<', value: SIGMA }] },
    // A collision reaches the stations one after the other, at one moment.
    urgent: ['told'],
    edges: [
      { from: 'idle', to: 'active', sync: 'begin?', reset: [bus], label: 'the bus is taken' },
      {
        from: 'active',
        to: 'collision',
        sync: 'begin?',
        guard: [{ clock: bus, relation: '<', value: SIGMA }],
        reset: [bus],
        label: 'a collision',
      },
      {
        from: 'active',
        to: 'active',
        sync: 'busy!',
        guard: [{ clock: bus, relation: '>=', value: SIGMA }],
        label: 'the bus is busy',
      },
      { from: 'active', to: 'idle', sync: 'end?', reset: [bus], label: 'the bus is free' },
      {
        from: 'collision',
        to: 'told',
        sync: 'hit1!',
        guard: [{ clock: bus, relation: '<', value: SIGMA }],
        label: 'the first hears it',
      },
      { from: 'told', to: 'idle', sync: 'hit2!', reset: [bus], label: 'the second hears it' },
    ],
  };
  return {
    clocks: 3,
    variables: [0, 0],
    automata: [station(1), station(2), medium],
    max: [0, LAMBDA, LAMBDA, SIGMA],
    bad: { collision: (locations) => locations.includes('late') },
  };
}

export interface Ring {
  readonly stations: number;
  /** Time for which each station sends whenever it has the token. */
  readonly synchronous: number;
  /** The target rotation time. */
  readonly target: number;
  /** Broken where the token takes longer than this to come back to the first station. */
  readonly most: number;
  /** Whether stations send more only as long as the token is early. */
  readonly isTimed?: boolean;
}

/** Each station has a clock for what it sends, and two that measure rotations in turn; passing the token takes no time. */
export function tokenRing({ stations, synchronous, target, most, isTimed = true }: Ring): AutomataModel {
  const station = (k: number): Automaton => {
    const sending = 3 * k + 1;
    // The phase in which `last` has run since the token came last, and `next` is started.
    const phase = (name: string, last: number, next: number, then: string): AutomatonEdge[] => [
      { from: name, to: `${name} has it`, sync: `token${k}?`, reset: [sending, next], label: `${k} gets the token` },
      {
        from: `${name} has it`,
        to: then,
        sync: `pass${k}!`,
        guard: [
          { clock: sending, relation: '=', value: synchronous },
          { clock: last, relation: '>=', value: target },
        ],
        label: `${k} passes it, late`,
      },
      {
        from: `${name} has it`,
        to: `${name} sends more`,
        guard: [
          { clock: sending, relation: '=', value: synchronous },
          { clock: last, relation: '<', value: target },
        ],
        label: `${k} is early`,
      },
      { from: `${name} sends more`, to: then, sync: `pass${k}!`, label: `${k} passes it` },
      ...(k === 0
        ? [
            {
              from: `${name} has it`,
              to: 'late',
              guard: [
                { clock: sending, relation: '=', value: 0 } as const,
                { clock: last, relation: '>', value: most } as const,
              ],
              label: 'the token came late',
            },
          ]
        : []),
    ];
    const [y, z] = [3 * k + 2, 3 * k + 3];
    const more = (last: number) => (isTimed ? [{ clock: last, relation: '<=', value: target } as const] : []);
    return {
      initial: 'one',
      invariants: {
        'one has it': [{ clock: sending, relation: '<=', value: synchronous }],
        'two has it': [{ clock: sending, relation: '<=', value: synchronous }],
        'one sends more': more(z),
        'two sends more': more(y),
      },
      edges: [...phase('one', z, y, 'two'), ...phase('two', y, z, 'one')],
    };
  };
  const hops = Array.from({ length: stations }, (_, k): AutomatonEdge[] => [
    { from: `to ${k}`, to: `at ${k}`, sync: `token${k}!`, label: `the token comes to ${k}` },
    { from: `at ${k}`, to: `to ${(k + 1) % stations}`, sync: `pass${k}?`, label: `the token leaves ${k}` },
  ]);
  const ring: Automaton = {
    initial: 'to 0',
    urgent: Array.from({ length: stations }, (_, k) => `to ${k}`),
    edges: hops.flat(),
  };
  const all = Array.from({ length: stations }, (_, k) => k);
  return {
    clocks: 3 * stations,
    variables: [],
    automata: [...all.map(station), ring],
    max: [0, ...all.flatMap(() => [synchronous, Math.max(target, most) + 1, Math.max(target, most) + 1])],
    bad: { rotation: (locations) => locations.includes('late') },
  };
}
