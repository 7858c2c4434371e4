/** What it would be worth to ask for less: the gain in what is preferred first, or in the smallest slack, for every requirement that binds. */
import { less, plus, type Form } from '../../timing/orders/form';
import { greatestShare, optimum } from '../../timing/orders/programme';
import type { CellSolution } from './order-search';
import type { TimeSpace } from './time-space';
import type { Tuned } from './tune';

export interface Price {
  /** Index of the requirement. */
  readonly requirement: number;
  /** How much less of it is asked, µs. */
  readonly by: number;
  /** `aim`: microseconds of what is preferred first; `slack`: growth of the smallest slack as a share of the bound. */
  readonly of: 'aim' | 'slack';
  readonly gain: number;
}

const BY = 10_000;

/** In the order of events of the best choice; empty where it comes from no programme. Only gains that are worth naming. */
export function pricesOf({ solution, time }: Tuned): Price[] {
  if (!solution || !time || solution.rows.length === 0) return [];
  const present = worth(solution, time, -1);
  if (present === null) return [];
  const of = solution.aims.length > 0 ? 'aim' : 'slack';
  return [...new Set(solution.rows.map((r) => r.requirement))].flatMap((requirement) => {
    const gain = (worth(solution, time, requirement) ?? present) - present;
    return gain > (of === 'aim' ? 1 : 1e-6) ? [{ requirement, by: BY, of, gain }] : [];
  });
}

/** The optimum of the programme with one requirement relaxed (−1: none), so that more is better. */
function worth({ rows, cell, aims }: CellSolution, { space }: TimeSpace, relaxed: number): number | null {
  const { box } = space;
  const looser = (form: Form, requirement: number): Form => (requirement === relaxed ? less(form, -BY) : form);
  const eased = rows.map((r) => ({ ...r, form: looser(r.form, r.requirement) }));
  const [aim] = aims;
  if (!aim) return greatestShare(box, cell.orders, eased)?.value ?? null;
  const sign = aim.most ? 1 : -1;
  const signed = plus(aim.form, aim.form, sign - 1);
  return optimum(box, [...cell.orders, ...eased.map((r) => r.form)], signed, 'maximize')?.value ?? null;
}
