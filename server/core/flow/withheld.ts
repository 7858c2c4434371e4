/** Why a figure about flow is withheld. A figure that is not reliable is not printed; the reason is. */
import type { WorkBudget } from '../model/budget';

/** The integrator found no way on. */
const LOST = 'the flow through the openings could not be followed';

/** The reason that a run whose steps could not be followed gives, as a clause. */
export function whyLost(budget: WorkBudget | undefined): string {
  if (!budget?.isSpent) return LOST;
  return `the flow equations would have to be evaluated more than ${wholeNumber(budget.limit)} times`;
}

const wholeNumber = (n: number): string => String(Math.round(n)).replace(/\B(?=(\d{3})+$)/g, ' ');
