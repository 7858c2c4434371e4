/** Facts about flow of a rig from its timing facts: cheap answers at once, the dearer ones when they are first read. */
import type { FlowModel } from '../flow/rig-model';
import type { Filling, FlowFacts, NotComputed, StrokeFlow } from '../flow/facts';
import { modelFlow } from '../flow/flow-model';
import { sizeLine } from '../flow/sizing';
import { stateAt } from '../flow/states';
import type { WorkBudget } from '../model/budget';
import type { Rig } from '../model/rig';
import type { TimingFacts } from '../timing/facts';
import { detailNote, detailOf } from './flow-detail';
import { doubtsOf } from './flow-doubts';
import type { FlowRun } from './flow-run';
import { FIGURE, flowWork } from './flow-work';
import { flowRun, thrownSwitches, triggerMasses } from './flow-run';
import { kept, standsBehind, type Work } from '../work/work';
import { strokeRun } from './stroke-context';
import { strokeFlow } from './stroke-flow';

/** Facts about flow, in steps; null for a rig without a medium or a stack. `work`: what all of it may cost. */
export function* flowFacts(rig: Rig, timing: TimingFacts, work: WorkBudget = flowWork()): Work<FlowFacts | null> {
  if (!rig.medium || rig.stacks.length === 0) return null;
  const { model, problems } = modelFlow(rig);
  if (!model) return emptyFacts(problems);
  const run = flowRun(rig, thrownSwitches(timing))!;
  const filling = kept(function* (): Work<Filling | null> {
    if (timing.strokes.length === 0) return null;
    return yield* run.fillWork({ strokes: 2_000, budget: work.part(FIGURE.filling) });
  });
  const answers: (StrokeFlow | NotComputed)[] = [];
  const runs = timing.strokes.map((stroke, index) => strokeRun(rig, model, stroke, index));
  for (const of of runs) if (of) answers.push(yield* strokeFlow(rig, model, of, filling, work));
  const strokes = answers.flatMap((answer) => ('stacks' in answer ? [answer] : []));
  const notComputed = answers.flatMap((answer) => ('why' in answer ? [answer] : []));
  const emptying = kept(() => emptyingOf(run, strokes[0] ? triggerMasses(rig, model, timing.strokes[0]!) : null, work));
  const doubts = kept(function* (): Work<string[]> {
    return yield* doubtsOf(rig, model, strokes, yield* filling.work());
  });
  const details = runs.map((of) =>
    kept(function* () {
      return of && (yield* detailOf(rig, model, of, work));
    }),
  );
  const flow: FlowFacts = {
    problems,
    medium: mediumFacts(model),
    start: rig.chambers.map((_, k) => stateAt(model, k, model.start[k]!)),
    lines: rig.lines.map((line, k) => sizeLine(line, k, model.law, model.lines[k])),
    strokes,
    notComputed,
    get doubts() {
      return doubts.value();
    },
    get emptying() {
      return emptying.value();
    },
    get filling() {
      return filling.value();
    },
    detail: (stroke) => details[stroke]?.value() ?? null,
    detailNote: detailNote(rig, model),
  };
  standsBehind(flow, 'doubts', doubts);
  standsBehind(flow, 'emptying', emptying);
  standsBehind(flow, 'filling', filling);
  details.forEach((detail, stroke) => standsBehind(flow, `detail ${stroke}`, detail));
  return flow;
}

function mediumFacts({ law }: FlowModel): FlowFacts['medium'] {
  const mostPressure = law.phase === 'packed' ? Infinity : law.range.pressure;
  return { name: law.name, title: law.title, phase: law.phase, mostPressure };
}

function emptyFacts(problems: FlowFacts['problems']): FlowFacts {
  return {
    problems,
    medium: null,
    start: [],
    lines: [],
    strokes: [],
    notComputed: [],
    doubts: [],
    emptying: null,
    filling: null,
    detail: () => null,
    detailNote: '',
  };
}

/** Strokes with nothing coming in, from the threshold: where the sensor stops the rig and what is left upstream. */
function* emptyingOf(run: FlowRun, start: readonly number[] | null, work: WorkBudget): Work<Filling | null> {
  if (!start) return null;
  // A hair beyond the threshold, so that the sensor is on.
  return yield* run.fillWork({
    start: start.map((m) => m * (1 + 1e-9)),
    linesOff: true,
    strokes: 2_000,
    budget: work.part(FIGURE.emptying),
  });
}
