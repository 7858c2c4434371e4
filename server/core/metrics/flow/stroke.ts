/** `stroke_mass`, `rate`, `ceiling`, `energy_per_stroke`, `energy_per_kg`: what one stroke does, with the trigger's chamber at its threshold. */
import type { StrokeFlow } from '../../flow/facts';
import type { MetricArgument, Requirement } from '../../model/rig';
import type { RigFacts } from '../../run/facts';
import type { DimensionName } from '../../units/dimensions';
import { formatTime } from '../../units/units';
import type { FlowMetric, Measured, Parameter, Sample, Withheld } from '../metric';
import { NOWHERE } from '../metric';
import { itemIndex } from '../metric';
import { CHAMBER, chamberName, CONTENTS, noFlow, stateValue } from './contents';
import { say } from '../../words/say';
import { noStrokeReason } from '../../timing/no-stroke';

/** Null: the stroke does nothing of that kind, and another may. */
type OfStroke = (
  stroke: StrokeFlow,
  facts: RigFacts,
  args: readonly MetricArgument[],
  requirement: Requirement,
) => { readonly value: number; readonly why: string } | string | null;

/** The strokes that have to do with the chamber: what one stroke leaves alone, another of the rig moves. All of them where none has. */
function strokesAbout({ flow, rig }: RigFacts, [argument]: readonly MetricArgument[]): readonly StrokeFlow[] {
  const { strokes } = flow!;
  if (!argument) return strokes;
  const chamber = itemIndex(argument);
  const joins = (stack: number): boolean =>
    rig.stacks[stack]!.members.some((m) => m.kind === 'chamber' && m.index === chamber);
  const about = strokes.filter(({ stacks }) => stacks.some(({ stack }) => joins(stack)));
  return about.length > 0 ? about : strokes;
}

function perStroke(
  name: string,
  parameters: readonly Parameter[],
  dimensions: readonly DimensionName[],
  definition: string,
  of: OfStroke,
): FlowMetric {
  return {
    name,
    kind: 'flow',
    parameters,
    dimensions,
    definition,
    whenAbsent: 'undecided',
    measure: (facts, args, requirement): Measured | Withheld => {
      const none = noFlow(facts);
      if (none) return { kind: 'absent', why: none };
      if (requirement.during !== null)
        return { kind: 'absent', why: say`${name} is about a single stroke, not a scenario` };
      const samples: Sample[] = [];
      const [withheld] = facts.flow!.notComputed;
      // A stroke that is not answered leaves the whole open, whatever the others say.
      if (withheld) return { kind: 'withheld', why: withheld.why };
      let why =
        facts.flow!.strokes.length > 0
          ? say`no stroke brings anything there`
          : noStrokeReason(facts.timing, say`no sensor starts a stroke`);
      for (const stroke of strokesAbout(facts, args)) {
        const found = of(stroke, facts, args, requirement);
        if (typeof found === 'string') why = found;
        else if (found) samples.push({ ...found, places: NOWHERE });
      }
      return samples.length > 0 ? { kind: 'samples', samples } : { kind: 'absent', why };
    },
  };
}

export const strokeMass = perStroke(
  'stroke_mass',
  [CHAMBER],
  ['mass'],
  "Mass that one stroke brings into the chamber (negative: takes out), with the trigger's chamber at its threshold and the others as at the start.",
  (stroke, { rig }, args) => ({
    value: stroke.gains[itemIndex(args[0])] ?? 0,
    why: say`that is what one stroke brings into ${chamberName(rig, args)}`,
  }),
);

export const rate = perStroke(
  'rate',
  [CHAMBER],
  ['mass_flow'],
  "Mean mass flow into the chamber through its doors while strokes follow one another, with the trigger's chamber at its threshold.",
  (stroke, { rig }, args) => {
    if (stroke.interval === null) return say`the strokes do not repeat`;
    const value = (stroke.gains[itemIndex(args[0])] ?? 0) / stroke.interval;
    return { value, why: say`${chamberName(rig, args)} gets a stroke every ${formatTime(stroke.interval * 1e6)}` };
  },
);

export const ceiling = perStroke(
  'ceiling',
  [CHAMBER],
  CONTENTS,
  "The value at which a stroke moves nothing more into the chamber, because what is left in the clearances takes it back; the trigger's chamber at its threshold.",
  (stroke, { rig }, args, requirement) => {
    const chamber = itemIndex(args[0]);
    const stack = stroke.stacks.find((s) => s.to === chamber);
    if (!stack)
      return rig.stacks.some(({ members }) => members.at(-1)!.index === chamber)
        ? null
        : say`no stack ends in ${chamberName(rig, args)}`;
    if (!stack.ceiling || stack.ceilingNote) return say`the ceiling is not known: ${stack.ceilingNote}`;
    const value = stateValue(stack.ceiling, requirement.comparison!.dimension);
    return value === null
      ? say`the medium has no such reading`
      : { value, why: say`a stroke moves nothing more there` };
  },
);

/** The energy of a stroke, or why it is not known: one that costs nothing says only that nothing was stated, and no requirement may pass on it. */
function energyOf({ energy, impossible }: StrokeFlow): number | string {
  const { total } = energy.perStroke;
  if (total === null) return impossible ?? say`its work is not known`;
  if (total > 0) return total;
  return say`no power of a door, feed or draw is stated, and from the contents at the start a stroke needs no compression`;
}

const all = (): string =>
  say`doors, feeds and draws together; a moving door by its stated power times the time it moves or its work, whichever is larger`;

export const energyPerStroke = perStroke(
  'energy_per_stroke',
  [],
  ['energy'],
  'Energy of one stroke: doors moving (each by its stated power times the time it moves or its gross work on the contents, whichever is larger), doors held, feeds and draws while one interval lasts. At the working point of the followed run where it reaches one.',
  (stroke) => {
    const value = energyOf(stroke);
    return typeof value === 'string' ? value : { value, why: all() };
  },
);

export const energyPerKg = perStroke(
  'energy_per_kg',
  [],
  ['specific_energy'],
  'Energy of one stroke divided by the mass that reaches the last chambers of the stacks.',
  (stroke) => {
    const known = energyOf(stroke);
    if (typeof known === 'string') return known;
    return stroke.energy.perKg === null ? say`a stroke moves nothing` : { value: stroke.energy.perKg, why: all() };
  },
);
