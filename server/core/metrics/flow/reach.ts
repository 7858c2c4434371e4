/** `strokes_to(chamber, target)` and `time_to(chamber, target)`: how long a filling takes. */
import type { MetricArgument, Requirement } from '../../model/rig';
import { reading } from '../../flow/vessel';
import type { RunPoint } from '../../flow/facts';
import type { CoupledRun } from '../../run/coupled';
import type { RigFacts } from '../../run/facts';
import { flowRun, thrownSwitches } from '../../run/flow-run';
import type { DimensionName } from '../../units/dimensions';
import { formatSi, formatFollowed } from '../../units/units';
import type { FlowMetric, Measured, Withheld } from '../metric';
import { itemIndex } from '../metric';
import {
  absent,
  chamberName,
  CHAMBER,
  cutOff,
  noFlow,
  open,
  sample,
  scenarioOf,
  sensedOf,
  strokesText,
  TARGET,
} from './contents';
import { say } from '../../words/say';

/** Where a target is reached: strokes done, and µs from the start of the run: zero is the same as in `flow`. */
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
  const run = flowRun(facts.rig, thrownSwitches(facts.timing));
  const chamber = itemIndex(args[0]);
  const vessel = run?.model.vessels[chamber];
  if (!run || !vessel || target?.kind !== 'quantity') return say`there is nothing to fill`;
  const { law } = run.model;
  const sensed = sensedOf(target.dimension);
  const wanted = target.value.nominal;
  const value = (mass: number, temperature: number): number | null => reading(law, vessel, sensed, mass, temperature);
  const start = value(run.model.start[chamber]!, vessel.temperature);
  if (start === null) return say`the medium has no ${sensed}`;
  // From below it is reached by rising, from above by falling.
  const there = (x: number | null): boolean => x !== null && (start <= wanted ? x >= wanted : x <= wanted);
  const scenario = scenarioOf(facts, requirement);
  if (scenario !== 'default') {
    if ('why' in scenario) return open(scenario.why);
    const found = reachIn(scenario, (m, T) => there(value(m, T)), chamber);
    return typeof found === 'string' && scenario.left
      ? open(say`its scenario was cut off at ${formatFollowed(scenario.left.t)}: ${scenario.left.why}`)
      : found;
  }
  const filling = run.fill({
    target: ({ high, low }) => {
      const { mass, temperature } = start <= wanted ? high : low;
      return there(value(mass[chamber]!, temperature[chamber]!));
    },
  });
  if (filling.ended === 'target') return { strokes: filling.strokes, time: filling.seconds * 1e6 };
  const name = facts.rig.chambers[chamber]!.name;
  const cut = cutOff(filling);
  if (cut) return open(say`${name} had not reached ${formatSi(wanted, target.dimension as DimensionName)} when ${cut}`);
  return say`${name} never reaches ${formatSi(wanted, target.dimension as DimensionName)} (followed for ${strokesText(filling.strokes)})`;
}

function reachIn(
  run: CoupledRun,
  there: (mass: number, temperature: number) => boolean,
  chamber: number,
): Reached | string {
  const isThere = ({ mass, temperature }: RunPoint): boolean => there(mass[chamber]!, temperature[chamber]!);
  const k = run.points.findIndex(isThere);
  if (k < 0) return say`it is not reached in its scenario`;
  const after = run.points[k]!;
  return { strokes: after.strokes, time: k === 0 ? after.t : passedBetween(run.points[k - 1]!, after, there, chamber) };
}

/** µs at which a target is passed on the straight line between two points, the second of them beyond it. */
function passedBetween(
  before: RunPoint,
  after: RunPoint,
  there: (mass: number, temperature: number) => boolean,
  chamber: number,
): number {
  const between = (key: 'mass' | 'temperature', part: number): number =>
    before[key][chamber]! + part * (after[key][chamber]! - before[key][chamber]!);
  let [low, high] = [before.t, after.t];
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    const part = (middle - before.t) / (after.t - before.t);
    if (there(between('mass', part), between('temperature', part))) high = middle;
    else low = middle;
  }
  return high;
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
      return sample(of(reached), say`${chamberName(facts.rig, args)} is there after ${strokesText(reached.strokes)}`);
    },
  };
}

export const strokesTo = metric(
  'strokes_to',
  'none',
  'Number of strokes until the chamber reaches the target, feeds and draws on and the sensors as the contents give them.',
  (r) => r.strokes,
);

/** From ten seconds on a filling is timed to a tenth of a second, upwards: it is good to one stroke, so microseconds would claim too much. */
const LONG = 10_000_000;
const TENTH = 100_000;

export const timeTo = metric(
  'time_to',
  'time',
  'Time from the start (contents as stated, feeds and draws on; of a scenario: its 0 s) until the chamber first reaches the target; good to one stroke. `flow` counts from the same zero.',
  (r) => (r.time < LONG ? r.time : Math.ceil(r.time / TENTH) * TENTH),
);
