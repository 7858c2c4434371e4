/** Scenarios: what is turned and when. */
import type { ScenarioStatement, ScenarioStep } from '../../../grammar/src/ast';
import { type At, type Context, isMisread, place, report } from './context';
import { itemOf } from './items';
import { bind } from './names';
import { timeOf } from './quantities';
import { DURATION_RANGE, STEP_RANGE } from './ranges';
import type { Rig, Scenario } from './rig';
import { say } from '../words/say';

type Action = Scenario['steps'][number]['action'];
const ACTIONS: readonly Action[] = ['feed', 'draw', 'switch', 'sensor', 'power'];

function readStep(here: At, step: ScenarioStep): Scenario['steps'][number] | null {
  const at = timeOf(here, step.at, STEP_RANGE);
  const action = ACTIONS.find((word) => word === step.action.text);
  const target = action === undefined ? null : readTarget(here, step, action);
  if (at === null || action === undefined || target === null || step.state === null) return null;
  return { at, action, target, on: step.state.on, source: place(here.scope, step.span) };
}

function readTarget(here: At, step: ScenarioStep, action: Action): number | null {
  if (action === 'power') return -1;
  if (step.target === null) return null;
  const found = bind(here, step.target, [action], 'write');
  return found?.binding.kind === action && 'index' in found.binding && found.binding.index >= 0
    ? found.binding.index
    : null;
}

/**
 * Steps that let a feed or draw run which nothing held off: one with a drive obeys that until a step shuts it off, so such a step
 * changes nothing.
 */
export function reportIdleSteps(
  ctx: Context,
  { lines, drives, scenarios }: Pick<Rig, 'lines' | 'drives' | 'scenarios'>,
): void {
  for (const { steps } of scenarios) {
    const held = new Set<number>();
    for (const { action, target, on, source } of steps) {
      const isDriven = drives.some((drive) => drive.kind === action && drive.target === target);
      if (!isDriven) continue;
      if (on && !held.has(target)) report(ctx, 'value/no-effect', idleStep(lines[target]!.name), source);
      if (on) held.delete(target);
      else held.add(target);
    }
  }
}

const idleStep = (name: string): string =>
  say`${name} runs when its drive says so; a step can only shut it off and give it back, and here nothing shut it off. Turn what drives it.`;

/** Reads a scenario; its steps in order of time, equal times as written. */
export function resolveScenario(here: At, statement: ScenarioStatement): Scenario {
  const { ctx, scope } = here;
  let steps: Scenario['steps'][number][] = [];
  let duration: Scenario['duration'] = null;
  const isUnread = isMisread(ctx, () => {
    steps = statement.steps.flatMap((step) => readStep(here, step) ?? []);
    duration = statement.duration === null ? null : timeOf(here, statement.duration, DURATION_RANGE);
  });
  for (const step of duration === null ? [] : steps) {
    if (step.at.nominal < duration!.nominal) continue;
    report(ctx, 'value/no-effect', say`This happens when the scenario is over.`, step.source, {
      related: [{ at: duration!.at, message: say`its end` }],
    });
  }
  return {
    ...itemOf(scope, statement.name, statement),
    steps: steps.sort((a, b) => a.at.nominal - b.at.nominal),
    duration,
    ...(isUnread || statement.damaged ? { unread: true } : {}),
  };
}
