/** What the checks of flow read, computed in steps before they read it. */
import { prepare, type Work } from '../../work/work';
import type { RigFacts } from '../../run/facts';
import type { CheckContext } from '../check';

/** The rig followed by itself. */
export function* preparedFilling({ facts }: CheckContext): Work<void> {
  yield* prepare(facts, 'flow');
  yield* prepare(facts.flow, 'filling');
}

/** A property of each stroke. */
export const preparedStrokes =
  (...names: readonly OfStroke[]) =>
  ({ facts }: CheckContext): Work<void> =>
    strokesPrepared(facts, ...names);

export function* strokesPrepared(facts: RigFacts, ...names: readonly OfStroke[]): Work<void> {
  yield* prepare(facts, 'flow');
  for (const stroke of facts.flow?.strokes ?? []) yield* prepare(stroke, ...names);
}

type OfStroke = 'keepUp' | 'energy' | 'adiabatic';
