/** What need not change stays: a value is turned only where that is worth something. */
import type { Work } from '../../work/work';
import type { TuneProblem } from './problem';
import { scoreWork, type Score, type Scope } from './score';

/**
 * A choice with the present values put back wherever that costs nothing that is worth naming; the choice itself where none can be.
 * @param trials choices that may be tried; the rest stays as found
 */
export function* withPresent(
  problem: TuneProblem,
  now: Score,
  found: Score,
  scope: Scope,
  trials: number,
): Work<Score> {
  if (found === now) return now;
  if (isAsGood(now, found)) return now;
  let best = found;
  let left = trials;
  for (let changed = true; changed;) {
    changed = false;
    for (const [k, { now: present }] of problem.variables.entries()) {
      if (best.values[k] === present) continue;
      if (left-- <= 0) return best;
      const values = best.values.map((value, other) => (other === k ? present : value));
      const score = yield* scoreWork(problem, values, scope);
      if (!score || !isAsGood(score, found)) continue;
      best = score;
      changed = true;
    }
  }
  return best;
}

/** Of a bound, or of the smallest slack where that is more. */
const LEAST_WORTH = 0.005;
/** Of a slack itself: those behind the smallest, which do not decide how robust the choice is. */
const OTHER_WORTH = 0.1;
/** Of what is preferred, in proportion: less than a step of 10 ms in a minute and a half. */
const AIM_WORTH = 1e-4;
const HAIR = 1e-9;

/** Whether what is missed is the same, and what is preferred and each slack in its turn is worse by next to nothing at most. */
function isAsGood(a: Score, than: Score): boolean {
  if (a.missing > than.missing + HAIR) return false;
  const aims = than.aims.every((aim, k) => a.aims[k] === aim || a.aims[k]! >= aim - AIM_WORTH * Math.abs(aim));
  if (!aims || a.slacks.length < than.slacks.length) return false;
  // The smallest first: where one has more to spare, those behind it cannot outweigh it.
  for (const [k, slack] of than.slacks.entries()) {
    const counted = k === 0 ? slack : ample(slack);
    const gain = (k === 0 ? a.slacks[k]! : ample(a.slacks[k]!)) - counted;
    const worth = Math.max(LEAST_WORTH, (k === 0 ? LEAST_WORTH : OTHER_WORTH) * counted);
    if (gain < -worth) return false;
    if (gain > worth) return true;
  }
  return true;
}

/** Behind the smallest, more slack than the bound itself gains nothing. */
const ample = (slack: number): number => Math.min(1, slack);
