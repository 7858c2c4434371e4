/**
 * Soldiers at a bridge at night (a folklore puzzle, long used as a timed-automaton benchmark; e.g. T. C. Ruys and E. Brinksma, "Experience
 * with literate programming in the modelling and validation of systems", TACAS 1998): four walk at 5, 10, 20 and 25 minutes, at most two
 * cross at once with the one torch. All can be over in 60 minutes and not sooner.
 */
import { describe, expect, it } from 'vitest';
import { automataSystem, type AutomataModel, type Automaton } from '../support/automaton';
import { createExploration } from '../../server/core/proof/explore';

const MINUTES = [5, 10, 20, 25];
/** Variables: side of the torch (0 or 1), then how many walk. */
const TOTAL = MINUTES.length + 1;

/** Both walkers set out together: the torch goes with the first, who waits for the second at the other side. */
function soldier(k: number): Automaton {
  const clock = k + 1;
  const walk = (side: 0 | 1, from: string, to: string): Automaton['edges'] => [
    { from, to: `${from}-walks`, sync: `take${side}?`, reset: [clock], label: `${MINUTES[k]} sets out` },
    {
      from: `${from}-walks`,
      to,
      guard: [{ clock, relation: '>=', value: MINUTES[k]! }],
      set: (v) => void v[1]!--,
      label: `${MINUTES[k]} arrives`,
    },
  ];
  return { initial: 'here', edges: [...walk(0, 'here', 'over'), ...walk(1, 'over', 'here')] };
}

/** Lets one or two set out, in no time, and waits until all who walk have arrived. */
const torch: Automaton = {
  initial: 'side0',
  urgent: ['first0', 'first1'],
  edges: [0, 1].flatMap((side): Automaton['edges'] => {
    const begin = (v: number[]): void => void v[1]!++;
    return [
      { from: `side${side}`, to: `first${side}`, sync: `take${side}!`, set: begin, label: 'torch' },
      { from: `first${side}`, to: `gone${side}`, sync: `take${side}!`, set: begin, label: 'torch' },
      { from: `first${side}`, to: `gone${side}`, label: 'alone' },
      { from: `gone${side}`, to: `side${1 - side}`, when: (v) => v[1] === 0, label: 'torch is over' },
    ];
  }),
};

function allOverWithin(limit: number): boolean {
  const deadline: Automaton = {
    initial: 'running',
    invariants: { running: [{ clock: TOTAL, relation: '<=', value: limit }] },
    edges: [],
  };
  const model: AutomataModel = {
    clocks: TOTAL,
    variables: [0, 0],
    automata: [...MINUTES.map((_, k) => soldier(k)), torch, deadline],
    max: [0, ...MINUTES, limit],
    bad: { over: (locations) => locations.slice(0, MINUTES.length).every((l) => l === 'over') },
  };
  const exploration = createExploration(automataSystem(model));
  while (!exploration.run(2_000) && exploration.broken.size === 0);
  return exploration.broken.size > 0;
}

describe('soldiers at the bridge', () => {
  // 5 and 10 over (10), 5 back (15), 20 and 25 over (40), 10 back (50), 5 and 10 over (60).
  it('can be over in 60 minutes', () => expect(allOverWithin(60)).toBe(true));
  it('cannot in 59', () => expect(allOverWithin(59)).toBe(false));
});
