/**
 * What a proof may cost. The clock belongs to the caller, who looks at it after every turn of one successor. States and memory are counted,
 * not measured, so that the same text stops at the same place on every machine; seconds are the one budget that differs between two.
 */
import { formatCount, formatTime } from '../units/units';
import { say } from '../words/say';

/** Three limits, of which the first to be reached ends a proof. */
export interface ProofBudget {
  /** Symbolic states worked off. */
  readonly states: number;
  /** Memory of the states kept, computed from their parts. */
  readonly bytes: number;
  readonly seconds: number;
}

/** The budget that ended a proof, in words, and the option of the command line that gives more of it. */
export interface Spent {
  readonly budget: string;
  readonly option: '--states' | '--seconds' | '--memory';
}

/** Which budget is used up; null where none is. */
export function spentBudget(
  proof: { readonly explored: number; readonly bytes: number },
  budget: ProofBudget,
  seconds: number,
): Spent | null {
  if (seconds >= budget.seconds)
    return { budget: say`the budget of ${formatTime(Math.round(budget.seconds * 1e6))}`, option: '--seconds' };
  if (proof.explored >= budget.states)
    return { budget: say`the budget of ${formatCount(budget.states, 'state')}`, option: '--states' };
  if (proof.bytes >= budget.bytes)
    return { budget: say`the budget of ${Math.ceil(budget.bytes / 2 ** 20)} MiB`, option: '--memory' };
  return null;
}
