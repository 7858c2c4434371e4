/** Where not all requirements can hold: a smallest set of them that contradict each other, within the ranges. */
import type { Random } from '../../timing/tolerance';
import type { TuneProblem } from './problem';
import type { Score } from './score';
import type { RigFacts } from '../../run/facts';
import type { Work } from '../../work/work';
import { tuneWork } from './tune';

export interface ConflictOptions {
  readonly runs: number;
  readonly trials: number;
  readonly random: () => Random;
}

export interface Conflict {
  /** Requirements that contradict each other, by index. */
  readonly requirements: readonly number[];
  /** The rig with the values that come closest to these alone, whatever the others ask. */
  readonly closest: RigFacts;
}

/**
 * Leaves out one requirement after the other for as long as the rest cannot hold together: no requirement of what remains can be left
 * out. As good as the search for a choice that keeps a set: a set may be called contradicting where only none was found.
 */
export function* conflictOf(problem: TuneProblem, best: Score, options: ConflictOptions): Work<Conflict> {
  function* bestFor(only: ReadonlySet<number>): Work<Score> {
    const found = yield* tuneWork(problem, {
      starts: 4,
      runs: Math.ceil(options.runs / 3),
      trials: Math.ceil(options.trials / 3),
      random: options.random(),
      only,
    });
    return found?.best ?? best;
  }
  const set = new Set(best.facts.rig.requirements.map((_, k) => k));
  for (const k of [...set]) {
    const rest = new Set(set);
    rest.delete(k);
    if (rest.size > 0 && (yield* bestFor(rest)).missing === 0) continue;
    if (rest.size > 0) set.delete(k);
  }
  return { requirements: [...set], closest: (yield* bestFor(set)).facts };
}
