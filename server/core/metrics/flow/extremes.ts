/** `peak(chamber)`, `lowest(chamber)` and `final(chamber)`: what a chamber reaches, in the dimension of the comparison. */
import type { ChamberState } from '../../flow/facts';
import { stateOf } from '../../flow/states';
import type { MetricArgument, Requirement } from '../../model/rig';
import type { CoupledRun } from '../../run/coupled';
import type { RigFacts } from '../../run/facts';
import { quickRun } from '../../run/scenario-run';
import type { DimensionName } from '../../units/dimensions';
import { formatSi, formatFollowed, formatTime } from '../../units/units';
import { missBy } from '../comparison';
import type { FlowMetric, Measured } from '../metric';
import { itemIndex } from '../metric';
import {
  absent,
  chamberName,
  CHAMBER,
  CONTENTS,
  cutOff,
  isSettled,
  noFlow,
  sample,
  scenarioOf,
  stateValue,
  strokesText,
} from './contents';
import { say } from '../../words/say';
import { noStrokeReason } from '../../timing/no-stroke';

interface Kind {
  readonly name: 'peak' | 'lowest' | 'final';
  readonly during: (run: CoupledRun) => readonly ChamberState[];
  readonly byItself: (facts: RigFacts) => readonly ChamberState[];
}

/** How a value was come by, as a clause: `where` is empty, or what the run was. */
const CLAUSES: Readonly<Record<Kind['name'], (who: string, where: string) => string>> = {
  peak: (who, where) => say`${who} reaches that at most ${where}`,
  lowest: (who, where) => say`${who} falls to that ${where}`,
  final: (who, where) => say`${who} ends at that ${where}`,
};

function extreme(name: string, definition: string, kind: Kind): FlowMetric {
  return {
    name,
    kind: 'flow',
    parameters: [CHAMBER],
    dimensions: CONTENTS,
    definition,
    whenAbsent: 'undecided',
    measure: (facts, args, requirement) => measure(facts, args, requirement, kind),
  };
}

function measure(facts: RigFacts, args: readonly MetricArgument[], requirement: Requirement, kind: Kind): Measured {
  const none = noFlow(facts);
  if (none) return absent(none);
  const chamber = itemIndex(args[0]);
  const who = chamberName(facts.rig, args);
  const { dimension } = requirement.comparison!;
  const run = scenarioOf(facts, requirement);
  if (run !== 'default') {
    if ('why' in run) return absent(run.why);
    if (run.left) return absent(say`its scenario was cut off at ${formatFollowed(run.left.t)}: ${run.left.why}`);
    return valueOf(kind.during(run)[chamber], dimension, CLAUSES[kind.name](who, say`in its scenario`));
  }
  const filling = facts.flow!.filling;
  if (!filling) return absent(noStrokeReason(facts.timing, say`no sensor starts a stroke`));
  const found = valueOf(
    kind.byItself(facts)[chamber],
    dimension,
    CLAUSES[kind.name](who, say`within ${formatTime(filling.seconds * 1e6)} of running by itself`),
  );
  const rises = filling.rising.includes(chamber) && kind.name !== 'lowest';
  if ((isSettled(filling) && !rises) || found.kind === 'absent') return found;
  const cut = cutOff(filling);
  if (cut) {
    const value = valueText(found.samples[0]!.value, dimension);
    return absent(
      kind.name === 'lowest'
        ? say`${who} stood at ${value} at least when ${cut}`
        : say`${who} stood at ${value} at most when ${cut}`,
    );
  }
  // Not settled yet: what is missed already stays missed, what still holds may not hold later.
  const missed = found.samples.some((s) => missBy(requirement.comparison!, s.value) !== 0);
  if (missed && kind.name !== 'final') return found;
  return absent(
    rises
      ? say`${who} goes on being fed after ${strokesText(filling.strokes)}, and nothing stops the feed`
      : say`${who} still changes after ${strokesText(filling.strokes)}`,
  );
}

const valueText = (value: number, dimension: string): string => formatSi(value, dimension as DimensionName);

function valueOf(state: ChamberState | undefined, dimension: string, why: string): Measured {
  const value = state ? stateValue(state, dimension) : null;
  return value === null
    ? absent(say`the medium has no ${dimension === 'length' ? 'level' : dimension}`)
    : sample(value, why);
}

export const peak = extreme(
  'peak',
  'The highest value the chamber reaches with feeds and draws on, until the rig stops or is steady (or in its scenario); the comparison says of what (pressure, density, mass or level).',
  { name: 'peak', during: (run) => run.highest, byItself: ({ flow }) => flow!.filling!.highest },
);

export const lowest = extreme(
  'lowest',
  'The lowest value the chamber falls to with feeds and draws on, until the rig stops or is steady (or in its scenario); the comparison says of what.',
  { name: 'lowest', during: (run) => run.lowest, byItself: ({ flow }) => flow!.filling!.lowest },
);

export const final = extreme(
  'final',
  'The value in the chamber at the end of the scenario, or once the rig has stopped or is steady; the comparison says of what.',
  {
    name: 'final',
    during: (run) => run.final,
    byItself: ({ rig, flow }) => {
      const last = flow!.filling!.points[flow!.filling!.points.length - 1]!;
      const { model } = quickRun(rig)!;
      return last.mass.map((m, k) => stateOf(model, k, m, last.temperature[k]!));
    },
  },
);
