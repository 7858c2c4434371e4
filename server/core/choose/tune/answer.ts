/** A suggestion of the tuner with everything a person needs to trust it: verified, with what binds, or why there is none. */
import { evaluateRequirement } from '../../metrics/evaluate';
import { requirementValue, worstOf, type RequirementValue } from '../../metrics/requirement-value';
import { relativeSlack, slackOf } from '../../metrics/slack';
import { toleranceWork } from '../../metrics/within-tolerance';
import type { Rig } from '../../model/rig';
import { proveRig } from '../../run/prove-rig';
import type { RigFacts } from '../../run/facts';
import { looseTimes, type Random } from '../../timing/tolerance';
import { patiently, type Work } from '../../work/work';
import { conflictsOf, type Conflict, type Conflicts } from './conflict';
import { bindingOf, pricesOf, type Binding, type Price } from './prices';
import type { TuneProblem, Variable } from './problem';
import type { Score } from './score';
import { tuneWork, type Tuned, type TuneOptions } from './tune';

export interface Chosen {
  readonly variable: Variable;
  readonly value: number;
}

export type ProofState = 'proved' | 'refuted' | 'undecided' | 'not-asked';

export interface TuneAnswer {
  readonly tuned: Tuned;
  readonly chosen: readonly Chosen[];
  /** Every requirement before and after. */
  readonly before: readonly RequirementValue[];
  readonly after: readonly RequirementValue[];
  /** What stops it from getting better. */
  readonly binds: Binding;
  readonly prices: readonly Price[];
  /** Where not all can hold, what cannot: those that cannot hold alone, then smallest sets that contradict each other. Empty where all hold. */
  readonly conflicts: readonly Contradiction[];
  /** False where the search for what cannot hold ended before it was done. */
  readonly conflictsComplete: boolean;
  readonly proof: ProofState;
  /** Requirements that the proof refutes for the suggestion, by index. */
  readonly refuted: readonly number[];
  /** The present values are as good. */
  readonly asGood: boolean;
}

/** One requirement that cannot hold, or several that cannot hold together: what is reached of these where nothing else is asked. */
export type Contradiction = readonly RequirementValue[];

export interface AnswerOptions {
  readonly starts: number;
  readonly runs: number;
  readonly trials: number;
  /** A fresh stream of numbers from a seed, so that each part of the search can be had again. */
  readonly random: () => Random;
  /** Symbolic states for the proof of a suggestion; 0: no proof. */
  readonly states: number;
}

/** In steps, to be sliced and cancelled; null where the rig does not resolve as it is. */
export function* tuneAnswer(problem: TuneProblem, options: AnswerOptions): Work<TuneAnswer | null> {
  const tuneOptions: TuneOptions = { ...options, random: options.random() };
  const tuned = yield* withinTolerances(problem, tuneOptions, options);
  if (!tuned) return null;
  const { now, best } = tuned;
  // Computed when first read, in steps.
  const isWithoutFlow = yield* patiently(() => best.facts.flow === null && now.facts.flow !== null);
  const facts = isWithoutFlow ? now.facts : best.facts;
  const after = yield* valuesOf(facts);
  const prices = best.missing === 0 ? pricesOf(tuned) : [];
  const conflicts = best.missing > 0 ? yield* conflictsOf(problem, best, options) : NO_CONFLICTS;
  const chosen = problem.variables.map((variable, k) => ({ variable, value: best.values[k]! }));
  const proved = best.missing === 0 ? yield* proofOf(best.facts.rig, options.states) : NOT_ASKED;
  return {
    tuned,
    chosen,
    before: yield* valuesOf(now.facts),
    after,
    binds: best.missing > 0 ? NOTHING : bindingOf(tuned, problem, prices, tightIn(after, best.aims.length > 0)),
    prices,
    conflicts: yield* contradictionsOf(conflicts.found),
    conflictsComplete: conflicts.complete,
    proof: proved.state,
    refuted: proved.refuted,
    asGood: best === now,
  };
}

function* valuesOf(facts: RigFacts): Work<RequirementValue[]> {
  yield* toleranceWork(facts);
  return yield* patiently(() => facts.rig.requirements.map((r) => requirementValue(facts, r)));
}

const ROUNDS = 3;

/** Tunes so that the requirements keep their worst case too: what tolerances take away at one choice is asked for in the next round. */
function* withinTolerances(problem: TuneProblem, first: TuneOptions, options: AnswerOptions): Work<Tuned | null> {
  let tuned = yield* tuneWork(problem, first);
  for (let round = 1; tuned && round < ROUNDS && tuned.best.missing === 0; round++) {
    const losses = yield* lossesOf(tuned.best);
    if (losses === null) return tuned;
    const next = yield* tuneWork(problem, { ...options, random: options.random(), losses });
    if (!next || next.best.missing > 0) return tuned;
    tuned = next;
  }
  return tuned;
}

/** What tolerances take from each slack, by index; null where the worst case of every requirement holds. */
function* lossesOf({ facts }: Score): Work<Map<number, number> | null> {
  const { rig } = facts;
  if (looseTimes(rig).length === 0) return null;
  const losses = new Map<number, number>();
  let broken = false;
  for (const [requirement, within] of yield* toleranceWork(facts)) {
    const { comparison } = requirement;
    const { actual } = evaluateRequirement(facts, requirement);
    const worst = worstOf(requirement, within).slack;
    broken ||= within.state === 'broken' || within.state === 'unclear';
    if (comparison && actual && worst !== null)
      losses.set(rig.requirements.indexOf(requirement), slackOf(comparison, actual.nominal) - worst);
  }
  return broken ? losses : null;
}

const NO_CONFLICTS: Conflicts = { found: [], complete: true };

const NOTHING: Binding = { requirements: [], ends: [] };

function* contradictionsOf(conflicts: readonly Conflict[]): Work<Contradiction[]> {
  return yield* patiently(() =>
    conflicts.map(({ requirements, closest }) =>
      requirements.map((k) => requirementValue(closest, closest.rig.requirements[k]!)),
    ),
  );
}

/**
 * Those whose slack in proportion is the smallest, within a hundredth: what is made as large as it can be where nothing is preferred. Where
 * something is, only what has next to nothing to spare can stand in its way.
 */
function tightIn(after: readonly RequirementValue[], isPreferred: boolean): number[] {
  const shares = after.map(({ requirement, value }) =>
    requirement.comparison && value !== null ? relativeSlack(requirement.comparison, value) : Infinity,
  );
  const least = isPreferred ? 0 : Math.min(...shares);
  return shares.flatMap((share, k) => (Number.isFinite(share) && share <= least + 0.01 ? [k] : []));
}

interface Proved {
  readonly state: ProofState;
  readonly refuted: readonly number[];
}

const NOT_ASKED: Proved = { state: 'not-asked', refuted: [] };

const PROVED_KINDS = new Set(['never', 'gap', 'order']);

/** The proof of what must always or never be, where the rig requires any. */
function* proofOf(rig: Rig, states: number): Work<Proved> {
  if (states === 0 || !rig.requirements.some((r) => PROVED_KINDS.has(r.metric) && r.during === null)) return NOT_ASKED;
  const { proof, requirementOf } = proveRig(rig);
  while (!proof.run(50) && proof.explored < states) yield;
  const asked = proof.results().flatMap(({ verdict }, k) => {
    const requirement = requirementOf[k]!;
    return requirement >= 0 ? [{ requirement, state: verdict.state }] : [];
  });
  const refuted = [...new Set(asked.flatMap((v) => (v.state === 'refuted' ? [v.requirement] : [])))];
  if (refuted.length > 0) return { state: 'refuted', refuted };
  return { state: asked.every((v) => v.state === 'proved') ? 'proved' : 'undecided', refuted };
}
