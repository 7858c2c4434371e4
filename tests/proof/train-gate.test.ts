/**
 * The railway crossing of R. Alur and D. L. Dill ("A theory of timed automata", Theor. Comput. Sci. 126, 183, 1994, section 7): a train, a
 * gate and a controller, with the constants of the paper, from memory: the train is inside at least 2 after it approaches and out
 * within 5; the controller answers an approach after exactly 1, an exit within 1; the gate goes down within 1 and up between 1 and 2.
 * All strict bounds; time in tenths so that whole units lie between them.
 */
import { describe, expect, it } from 'vitest';
import { automataSystem, type AutomataModel } from '../support/automaton';
import { createExploration } from '../../server/core/proof/explore';

const U = 10;
const [X, Y, Z] = [1, 2, 3];

/** `gateDown`: within how long the gate is down (1 in the paper). */
function crossing(gateDown: number): AutomataModel {
  return {
    clocks: 3,
    variables: [],
    automata: [
      {
        initial: 'away',
        invariants: {
          near: [{ clock: X, relation: '<', value: 5 * U }],
          inside: [{ clock: X, relation: '<', value: 5 * U }],
          leaving: [{ clock: X, relation: '<', value: 5 * U }],
        },
        edges: [
          { from: 'away', to: 'near', sync: 'approach!', reset: [X], label: 'approach' },
          { from: 'near', to: 'inside', guard: [{ clock: X, relation: '>', value: 2 * U }], label: 'in' },
          { from: 'inside', to: 'leaving', label: 'out' },
          { from: 'leaving', to: 'away', sync: 'exit!', label: 'exit' },
        ],
      },
      {
        initial: 'up',
        invariants: {
          lowering: [{ clock: Y, relation: '<', value: gateDown }],
          raising: [{ clock: Y, relation: '<', value: 2 * U }],
        },
        edges: [
          { from: 'up', to: 'lowering', sync: 'lower?', reset: [Y], label: 'lower' },
          { from: 'lowering', to: 'down', label: 'down' },
          { from: 'down', to: 'raising', sync: 'raise?', reset: [Y], label: 'raise' },
          { from: 'raising', to: 'up', guard: [{ clock: Y, relation: '>', value: U }], label: 'up' },
          { from: 'raising', to: 'lowering', sync: 'lower?', reset: [Y], label: 'lower again' },
        ],
      },
      {
        initial: 'idle',
        invariants: {
          told: [{ clock: Z, relation: '<=', value: U }],
          freed: [{ clock: Z, relation: '<', value: U }],
        },
        edges: [
          { from: 'idle', to: 'told', sync: 'approach?', reset: [Z], label: 'told' },
          { from: 'told', to: 'idle', sync: 'lower!', guard: [{ clock: Z, relation: '=', value: U }], label: 'lower' },
          { from: 'idle', to: 'freed', sync: 'exit?', reset: [Z], label: 'freed' },
          { from: 'freed', to: 'idle', sync: 'raise!', label: 'raise' },
        ],
      },
    ],
    max: [0, 5 * U, 2 * U, U],
    bad: { 'gate closed': ([train, gate]) => train === 'inside' && gate !== 'down' },
  };
}

function path(model: AutomataModel): string[] | null {
  const exploration = createExploration(automataSystem(model));
  while (!exploration.run(10_000));
  return exploration.broken.get('gate closed')?.[0]?.flatMap((s) => s.label ?? []) ?? null;
}

describe('railway crossing of Alur and Dill', () => {
  // Told at 0, lowered at 1, down before 1 + 1 = 2; the train is inside only after 2.
  it('is safe with the constants of the paper', () => expect(path(crossing(U))).toBeNull());

  // Down before 1 + 1.1 = 2.1 at the latest: the train may be inside from 2 on. With strict bounds in tenths: inside at 2.1,
  // and the gate still lowering needs its clock at 1.1, below its limit: the limit must be above 1.1.
  it('is not with a slower gate', () => {
    expect(path(crossing(U + 1))).toBeNull();
    expect(path(crossing(U + 2))).toEqual(['approach / told', 'lower / lower', 'in']);
  });
});
