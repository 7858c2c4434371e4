/** What it would be worth to ask for less: the gain in what is preferred first, or in the smallest slack, for every requirement that binds. */
import { less, plus, type Form } from '../../timing/orders/form';
import { greatestShare, optimum } from '../../timing/orders/programme';
import type { CellSolution } from './order-search';
import type { TuneProblem } from './problem';
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

/** What keeps a choice from being better. */
export interface Binding {
  /** Requirements, by index. */
  readonly requirements: readonly number[];
  /** Variables at an end of their range, by index into those of the problem. */
  readonly ends: readonly { readonly variable: number; readonly end: 'low' | 'high' }[];
}

/**
 * Where a programme is behind the choice: the requirements that it would be worth to relax, and the ends of ranges that it would be worth to
 * move. Where a search by steps is, the requirements with next to nothing to spare, and every end of a range that a value is at.
 */
export function bindingOf(
  tuned: Tuned,
  problem: TuneProblem,
  prices: readonly Price[],
  tight: readonly number[],
): Binding {
  const ends = problem.variables.flatMap((v, variable): Binding['ends'][number][] => {
    const value = tuned.best.values[variable]!;
    if (v.low === v.high || (value !== v.low && value !== v.high)) return [];
    return [{ variable, end: value === v.low ? 'low' : 'high' }];
  });
  const { solution, time } = tuned;
  if (!solution || !time) return { requirements: tight, ends };
  const present = worth(solution, time, -1);
  const gains = ({ variable, end }: Binding['ends'][number]): boolean =>
    present !== null && (worth(solution, widened(time, variable, end), -1) ?? present) - present > least(solution);
  const worthIt = prices.map(({ requirement }) => requirement);
  return { requirements: worthIt.length > 0 || solution.aims.length > 0 ? worthIt : tight, ends: ends.filter(gains) };
}

/** The same space with one end of a range moved out. */
function widened(time: TimeSpace, variable: number, end: 'low' | 'high'): TimeSpace {
  const at = time.indices.indexOf(variable);
  const { box } = time.space;
  const moved = box[end].map((x, k) => (k === at ? x + (end === 'low' ? -BY : BY) : x));
  return { ...time, space: { ...time.space, box: { ...box, [end]: moved } } };
}

/** Gains that are worth naming: more than a microsecond of an aim, more than rounding of a share. */
const least = ({ aims }: CellSolution): number => (aims.length > 0 ? 1 : 1e-6);

/** In the order of events of the best choice; empty where it comes from no programme. Only gains that are worth naming. */
export function pricesOf({ solution, time }: Tuned): Price[] {
  if (!solution || !time || solution.rows.length === 0) return [];
  const present = worth(solution, time, -1);
  if (present === null) return [];
  const of = solution.aims.length > 0 ? 'aim' : 'slack';
  return [...new Set(solution.rows.map((r) => r.requirement))].flatMap((requirement) => {
    const gain = (worth(solution, time, requirement) ?? present) - present;
    return gain > least(solution) ? [{ requirement, by: BY, of, gain }] : [];
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
