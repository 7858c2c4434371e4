/**
 * Fischer's mutual exclusion protocol (L. Lamport, "A fast mutual exclusion algorithm", 1987, credits it; the usual timed-automaton
 * benchmark, e.g. J. Bengtsson and W. Yi, 2004): each process writes its number within `write`, waits `wait`, and enters if the
 * number is still its own.
 */
import type { AutomataModel, Automaton } from './automaton';

export function fischer(processes: number, write: number, wait: number): AutomataModel {
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
