/** Why a figure about flow is withheld. A figure that is not reliable is not printed; the reason is. */
import type { WorkBudget } from '../model/budget';
import { say } from '../words/say';

/** The reason that a run whose steps could not be followed gives, as a clause. */
export function whyLost(budget: WorkBudget | undefined): string {
  if (!budget?.isSpent) return say`the flow through the openings could not be followed`;
  return say`the flow equations would have to be evaluated more than ${wholeNumber(budget.limit)} times`;
}

const wholeNumber = (n: number): string => String(Math.round(n)).replace(/\B(?=(\d{3})+$)/g, ' ');
