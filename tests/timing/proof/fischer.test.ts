/**
 * Fischer's mutual exclusion protocol (L. Lamport, "A fast mutual exclusion algorithm", 1987, credits it; the usual timed-automaton
 * benchmark, e.g. J. Bengtsson and W. Yi, 2004): each process writes its number within `write`, waits `wait`, and enters if the
 * number is still its own. Mutual exclusion holds exactly when the wait is longer than the write.
 */
import { describe, expect, it } from 'vitest';
import { automataSystem, type AutomataModel, type Automaton } from '../../../server/core/timing/proof/automaton';
import { createExploration } from '../../../server/core/timing/proof/explore';

function fischer(processes: number, write: number, wait: number): AutomataModel {
  const automaton = (id: number): Automaton => ({
    initial: 'idle',
    invariants: { request: [{ clock: id, relation: '<=', value: write }] },
    edges: [
      { from: 'idle', to: 'request', when: (v) => v[0] === 0, reset: [id], label: `${id} asks` },
      { from: 'request', to: 'wait', set: (v) => void (v[0] = id), reset: [id], label: `${id} writes` },
      { from: 'wait', to: 'idle', when: (v) => v[0] !== id, label: `${id} gives up` },
      {
        from: 'wait',
        to: 'inside',
        when: (v) => v[0] === id,
        guard: [{ clock: id, relation: '>=', value: wait }],
        label: `${id} enters`,
      },
      { from: 'inside', to: 'idle', set: (v) => void (v[0] = 0), label: `${id} leaves` },
    ],
  });
  return {
    clocks: processes,
    variables: [0],
    automata: Array.from({ length: processes }, (_, k) => automaton(k + 1)),
    max: Array<number>(processes + 1).fill(Math.max(write, wait)),
    bad: { 'mutual exclusion': (locations) => locations.filter((l) => l === 'inside').length > 1 },
  };
}

function solve(processes: number, write: number, wait: number): { safe: boolean; stored: number; path: number } {
  const exploration = createExploration(automataSystem(fischer(processes, write, wait)));
  while (!exploration.run(10_000) && exploration.broken.size === 0);
  const path = exploration.broken.get('mutual exclusion')?.[0];
  return { safe: path === undefined, stored: exploration.stored, path: path?.length ?? 0 };
}

describe("Fischer's protocol", () => {
  it.each([2, 3, 4])('%i processes: safe exactly when the wait exceeds the write', (processes) => {
    for (const write of [1, 5, 10]) {
      expect(solve(processes, write, write + 1).safe).toBe(true);
      expect(solve(processes, write, write).safe).toBe(false);
      expect(solve(processes, write, write - 1).safe).toBe(false);
    }
  });

  it('5 processes: safe, and refuted', () => {
    expect(solve(5, 10, 11).safe).toBe(true);
    expect(solve(5, 10, 10).safe).toBe(false);
  });

  it('the shortest counter-example is two processes asking, one entering before the other writes', () => {
    // ask 1, ask 2, write 1, enter 1, write 2, enter 2: six steps after the initial state.
    expect(solve(2, 10, 10).path).toBe(7);
  });
});
