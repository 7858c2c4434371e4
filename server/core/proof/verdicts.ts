/** Verdicts joined: of pieces that must all hold, of a rig whose moments must settle, of a proof that a budget ended. */
import { formatCount } from '../units/units';
import type { Spent } from './budget';
import type { ProofVerdict } from './prove';
import { say } from '../words/say';

/** A verdict of a rig in which `guard` keeps anything from being proved; a run that refutes came before any moment that never settles. */
export function guarded(verdict: ProofVerdict, guard: ProofVerdict | null): ProofVerdict {
  if (guard === null || verdict.state === 'refuted') return verdict;
  return verdict.state === 'undecided' && guard.state === 'undecided' && guard.after !== undefined ? verdict : guard;
}

/** The verdict of a property asked in pieces that must all hold. */
export function joined(verdicts: readonly ProofVerdict[]): ProofVerdict {
  const worst = (state: ProofVerdict['state']): ProofVerdict | undefined => verdicts.find((v) => v.state === state);
  // All pieces must hold: one refuted refutes the whole, one undecided leaves it open.
  return worst('refuted') ?? worst('undecided') ?? { state: 'proved' };
}

/** Why a proof ended before its question, with the budget that ended it. */
export function because(spent: Spent | null, verdict: ProofVerdict): ProofVerdict {
  if (spent === null || verdict.state !== 'undecided' || verdict.after === undefined) return verdict;
  return { ...verdict, reason: say`${ranOut(spent.budget, verdict.after)}; caisson prove ${spent.option} gives more` };
}

/** Of a search that a budget ended; `after`: symbolic states, negative where it had not begun. */
export const ranOut = (budget: string, after: number): string =>
  say`${budget} ran out ${after < 0 ? say`before the search began` : say`after ${formatCount(after, 'symbolic state')}`}`;

/** Left open for another reason than a budget. */
export const isDoubtful = (verdict: ProofVerdict): boolean =>
  verdict.state === 'undecided' && verdict.after === undefined;
