/** What the checks of flow read, computed in steps before they read it. */
import { prepare, type Work } from '../../work/work';
import type { CheckContext } from '../check';

/** The rig followed by itself. */
export function* preparedFilling({ facts }: CheckContext): Work<void> {
  yield* prepare(facts, 'flow');
  yield* prepare(facts.flow, 'filling');
}

/** A property of each stroke. */
export const preparedStrokes = (...names: readonly ('keepUp' | 'energy' | 'adiabatic')[]) =>
  function* ({ facts }: CheckContext): Work<void> {
    yield* prepare(facts, 'flow');
    for (const stroke of facts.flow?.strokes ?? []) yield* prepare(stroke, ...names);
  };
