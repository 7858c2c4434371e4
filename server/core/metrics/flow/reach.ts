/** `strokes_to(chamber, target)` and `time_to(chamber, target)`: how long a filling takes. */
import type { MetricArgument, Requirement } from '../../model/rig';
import { reading } from '../../flow/vessel';
import type { CoupledRun } from '../../run/coupled';
import type { RigFacts } from '../../run/facts';
import { quickRun } from '../../run/scenario-run';
import type { DimensionName } from '../../units/dimensions';
import { formatCount, formatSi } from '../../units/units';
import type { FlowMetric, Measured, Withheld } from '../metric';
import { itemIndex } from '../metric';
import { absent, chamberName, CHAMBER, noFlow, sample, scenarioOf, sensedOf, TARGET } from './contents';

/** Where a target is reached: strokes done, and µs from the start of the first. */
interface Reached {
  readonly strokes: number;
  readonly time: number;
}

function reach(
  facts: RigFacts,
  args: readonly MetricArgument[],
  requirement: Requirement,
): Reached | Withheld | string {
  const none = noFlow(facts);
  if (none) return none;
  const target = args[1];
  const run = quickRun(facts.rig);
  const chamber = itemIndex(args[0]);
  const vessel = run?.model.vessels[chamber];
  if (!run || !vessel || target?.kind !== 'quantity') return 'there is nothing to fill';
  const { law } = run.model;
  const sensed = sensedOf(target.dimension);
  const wanted = target.value.nominal;
  const value = (mass: number, temperature: number): number | null => reading(law, vessel, sensed, mass, temperature);
  const start = value(run.model.start[chamber]!, vessel.temperature);
  if (start === null) return `the medium has no ${sensed}`;
  // From below it is reached by rising, from above by falling.
  const there = (x: number | null): boolean => x !== null && (start <= wanted ? x >= wanted : x <= wanted);
  const scenario = scenarioOf(facts, requirement);
  if (scenario !== 'default') {
    return 'why' in scenario
      ? { kind: 'withheld', why: scenario.why }
      : reachIn(scenario, (m, T) => there(value(m, T)), chamber);
  }
  const filling = run.fill({ target: ({ mass, temperature }) => there(value(mass[chamber]!, temperature[chamber]!)) });
  if (filling.ended === 'target') {
    return { strokes: filling.strokes, time: Math.max(0, filling.seconds * 1e6 - (filling.firstStroke ?? 0)) };
  }
  if (filling.ended === 'left') return { kind: 'withheld', why: filling.left ?? 'the range of the law is left' };
  const name = facts.rig.chambers[chamber]!.name;
  return `${name} never reaches ${formatSi(wanted, target.dimension as DimensionName)} (${formatCount(filling.strokes, 'stroke')} were followed)`;
}

function reachIn(
  run: CoupledRun,
  there: (mass: number, temperature: number) => boolean,
  chamber: number,
): Reached | string {
  const point = run.points.find((p) => there(p.mass[chamber]!, p.temperature[chamber]!));
  if (!point) return 'it is not reached in its scenario';
  return { strokes: point.strokes, time: Math.max(0, point.t - (run.strokes[0] ?? 0)) };
}

function metric(
  name: string,
  dimension: DimensionName,
  definition: string,
  of: (reached: Reached) => number,
): FlowMetric {
  return {
    name,
    kind: 'flow',
    parameters: [CHAMBER, TARGET],
    dimensions: [dimension],
    definition,
    whenAbsent: 'failed',
    measure: (facts, args, requirement): Measured | Withheld => {
      const reached = reach(facts, args, requirement);
      if (typeof reached === 'string') return absent(reached);
      if ('why' in reached) return reached;
      return sample(
        of(reached),
        `${chamberName(facts.rig, args)} is there after ${formatCount(reached.strokes, 'stroke')}`,
      );
    },
  };
}

export const strokesTo = metric(
  'strokes_to',
  'none',
  'Number of strokes until the chamber reaches the target, feeds and draws on and the sensors as the contents give them.',
  (r) => r.strokes,
);

export const timeTo = metric(
  'time_to',
  'time',
  'Time from the start of the first stroke until the chamber reaches the target, feeds and draws on; good to one stroke.',
  (r) => r.time,
);
