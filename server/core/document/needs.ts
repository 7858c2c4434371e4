/**
 * What a reader of a document needs computed, in steps: whoever answers while others wait runs these first, and then reads without delay.
 */
import { edgeRangesWork } from '../run/edge-ranges';
import type { RigFacts } from '../run/facts';
import { scenarioRuns } from '../run/scenario-run';
import { prepare, type Work } from '../work/work';
import type { RigDocument } from './document';

/**
 * `text`: the text alone, nothing is simulated; `times`: the facts of every rig, with ranges where tolerances are stated; `flow`: also
 * every figure about flow; `verdicts`: every check and requirement.
 */
export type Need = 'text' | 'times' | 'flow' | 'verdicts';

/** Computes what is needed. */
export function* computing(document: RigDocument, need: Need): Work<void> {
  yield* document.readWork();
  if (need === 'text') return;
  if (need === 'verdicts') {
    yield* settled(document.work());
    return;
  }
  for (const facts of yield* document.factsWork()) {
    yield* edgeRangesWork(facts.rig, facts.timing);
    if (need === 'flow') yield* everyFigure(facts);
  }
}

/** The same without what is found on the way. */
function* settled(steps: Generator<unknown, unknown, void>): Work<void> {
  while (!steps.next().done) yield;
}

function* everyFigure(facts: RigFacts): Work<void> {
  yield* prepare(facts, 'flow');
  const { flow } = facts;
  if (!flow) return;
  yield* scenarioRuns(facts.rig);
  yield* prepare(flow, 'filling', 'emptying', 'doubts');
  for (const stroke of flow.strokes) {
    yield* prepare(stroke, 'keepUp', 'energy', 'adiabatic', 'course');
    for (const stack of stroke.stacks) yield* prepare(stack, 'atStart', 'atLimit', 'ceiling', 'curve');
    yield* prepare(flow, `detail ${stroke.stroke}`);
  }
}
