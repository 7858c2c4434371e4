/** Mutual exclusion by Fischer's protocol holds exactly when the wait is longer than the write. */
import { describe, expect, it } from 'vitest';
import { automataSystem } from '../support/automaton';
import { createExploration } from '../../server/core/proof/explore';
import { fischer } from '../support/fischer';

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
