/** Facts about flow of a rig from its timing facts: cheap answers at once, the dearer ones when they are first read. */
import type { FlowModel } from '../flow/rig-model';
import type { Filling, FlowFacts, StrokeFlow } from '../flow/facts';
import { modelFlow } from '../flow/flow-model';
import { sizeLine } from '../flow/sizing';
import { doubtAt, stateAt } from '../flow/states';
import { massAt } from '../flow/vessel';
import type { WorkBudget } from '../model/budget';
import type { Rig } from '../model/rig';
import type { TimingFacts } from '../timing/facts';
import { detailNote, detailOf } from './flow-detail';
import type { FlowRun } from './flow-run';
import { FIGURE, flowWork } from './flow-work';
import { flowRun, thrownSwitches, triggerMasses } from './flow-run';
import { lazy } from './lazy';
import { strokeFlow } from './stroke-flow';

/** Facts about flow; null for a rig without a medium or a stack. `work`: what all of it may cost. */
export function flowFacts(rig: Rig, timing: TimingFacts, work: WorkBudget = flowWork()): FlowFacts | null {
  if (!rig.medium || rig.stacks.length === 0) return null;
  const { model, problems } = modelFlow(rig);
  if (!model) return emptyFacts(problems);
  const run = flowRun(rig, thrownSwitches(timing))!;
  const filling = lazy(() =>
    timing.strokes.length > 0 ? run.fill({ strokes: 2_000, budget: work.part(FIGURE.filling) }) : null,
  );
  const answers = timing.strokes.map((stroke, index) => strokeFlow(rig, model, stroke, index, filling, work));
  const strokes = answers.flatMap((answer) => (answer && 'stacks' in answer ? [answer] : []));
  const notComputed = answers.flatMap((answer) => (answer && 'why' in answer ? [answer] : []));
  const emptying = lazy(() => emptyingOf(run, strokes[0] ? triggerMasses(rig, model, timing.strokes[0]!) : null, work));
  const doubts = lazy(() => doubtsOf(rig, model, strokes));
  const details = timing.strokes.map((stroke) => lazy(() => detailOf(rig, model, stroke, work)));
  return {
    problems,
    medium: { name: model.law.name, title: model.law.title, phase: model.law.phase },
    start: rig.chambers.map((_, k) => stateAt(model, k, model.start[k]!)),
    lines: rig.lines.map((line, k) => sizeLine(line, k, model.law)),
    strokes,
    notComputed,
    get doubts() {
      return doubts();
    },
    get emptying() {
      return emptying();
    },
    get filling() {
      return filling();
    },
    detail: (stroke) => details[stroke]?.() ?? null,
    detailNote: detailNote(rig, model),
  };
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
function emptyingOf(run: FlowRun, start: readonly number[] | null, work: WorkBudget): Filling | null {
  if (!start) return null;
  // A hair beyond the threshold, so that the sensor is on.
  return run.fill({
    start: start.map((m) => m * (1 + 1e-9)),
    linesOff: true,
    strokes: 2_000,
    budget: work.part(FIGURE.emptying),
  });
}

function doubtsOf(rig: Rig, model: FlowModel, strokes: readonly StrokeFlow[]): string[] {
  const doubts = new Set<string>();
  for (const { stacks } of strokes) {
    for (const { to, ceiling, ceilingNote } of stacks) {
      if (ceiling && ceilingNote) doubts.add(`The ceiling of \`${rig.chambers[to]!.name}\` is ${ceilingNote}.`);
    }
  }
  rig.chambers.forEach(({ limit, name }, k) => {
    const vessel = model.vessels[k]!;
    const most = limit ? massAt(model.law, vessel, limit.kind, limit.value.nominal, vessel.temperature) : null;
    const doubt = most === null ? null : doubtAt(model, k, stateAt(model, k, most));
    if (doubt) doubts.add(`At the limit of \`${name}\` ${doubt}.`);
  });
  return [...doubts];
}
