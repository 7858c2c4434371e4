/** Where not all requirements can hold: which of them cannot hold even alone, and smallest sets of the others that contradict each other. */
import { evaluateRequirement } from '../../metrics/evaluate';
import type { Random } from '../../timing/tolerance';
import { weightOf, type TuneProblem } from './problem';
import type { Score } from './score';
import type { RigFacts } from '../../run/facts';
import { patiently, type Work } from '../../work/work';
import { tuneWork } from './tune';

export interface ConflictOptions {
  readonly starts: number;
  readonly runs: number;
  readonly trials: number;
  readonly random: () => Random;
}

export interface Conflict {
  /** One requirement that no choice was found for, or several of which any can be left out for the others to hold; by index. */
  readonly requirements: readonly number[];
  /** The rig with the values that come closest to these alone, whatever the others ask. */
  readonly closest: RigFacts;
}

export interface Conflicts {
  readonly found: readonly Conflict[];
  /** Every set was looked at that had to be; false where the searches were used up. */
  readonly complete: boolean;
}

/** Searches for a choice that keeps a set, of a rig of everyday size; those of larger ones count more. */
const SEARCHES = 300;

/** More contradictions than these are not looked for: a user resolves one after the other. */
const MOST = 4;

/**
 * First those that cannot hold alone, then contradictions among the others: a smallest set, and for each of its members what else
 * contradicts where that one is left out (R. Reiter, Artificial Intelligence 32, 57, 1987). As good as the search for a choice
 * that keeps a set: a set may be called contradicting where only none was found.
 */
export function* conflictsOf(problem: TuneProblem, best: Score, options: ConflictOptions): Work<Conflicts> {
  const all = best.facts.rig.requirements.map((_, k) => k);
  const met = yield* patiently(() =>
    all.filter((k) => evaluateRequirement(best.facts, best.facts.rig.requirements[k]!).state === 'met'),
  );
  const search = createSearch(problem, best, new Set(met), options);
  const found: Conflict[] = [];
  for (const k of all)
    if (!(yield* search.canHold([k]))) found.push({ requirements: [k], closest: search.closest([k]) });
  const alone = new Set(found.flatMap((c) => c.requirements));
  const open = [all.filter((k) => !alone.has(k))];
  const most = found.length + MOST;
  for (let set = open.shift(); set && found.length < most; set = open.shift()) {
    if (yield* search.canHold(set)) continue;
    const smallest = yield* shrunk(search, set);
    if (found.some((c) => c.requirements.join() === smallest.join())) continue;
    found.push({ requirements: smallest, closest: search.closest(smallest) });
    open.push(...smallest.map((left) => set.filter((k) => k !== left)));
  }
  return { found, complete: !search.hasEnded() };
}

/** Leaves out one requirement after the other for as long as the rest cannot hold together. */
function* shrunk(search: Search, set: readonly number[]): Work<readonly number[]> {
  let smallest = set;
  for (const k of set) {
    const rest = smallest.filter((other) => other !== k);
    if (!(yield* search.canHold(rest))) smallest = rest;
  }
  return smallest;
}

interface Search {
  /** Whether a choice was found that keeps these, in rising order; true of what there was no search left for. */
  readonly canHold: (set: readonly number[]) => Work<boolean>;
  readonly hasEnded: () => boolean;
  /** The nearest that came of a set that cannot hold. */
  readonly closest: (set: readonly number[]) => RigFacts;
}

/** @param met what the best choice for all keeps */
function createSearch(problem: TuneProblem, best: Score, met: ReadonlySet<number>, options: ConflictOptions): Search {
  /** Sets that one choice kept together. */
  const kept = [met];
  let left = SEARCHES;
  const missed = new Map<string, { readonly set: readonly number[]; readonly score: Score }>();
  function* canHold(set: readonly number[]): Work<boolean> {
    if (kept.some((known) => set.every((k) => known.has(k)))) return true;
    if (missed.has(set.join())) return false;
    left -= weightOf(best.facts.rig);
    if (left < 0) return true;
    const found = yield* tuneWork(problem, {
      ...options,
      random: options.random(),
      only: new Set(set),
    });
    const score = found?.best ?? best;
    if (score.missing === 0) kept.push(new Set(set));
    else missed.set(set.join(), { set, score });
    return score.missing === 0;
  }
  return { canHold, hasEnded: () => left < 0, closest: (set) => (missed.get(set.join())?.score ?? best).facts };
}
