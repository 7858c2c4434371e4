/** `require/tolerance`: a requirement that holds at nominal times, but not for every time within the stated tolerances. */
import { evaluateRequirement, requirementName } from '../../metrics/evaluate';
import { toleranceWork, withinTolerance, type ToleranceVerdict } from '../../metrics/within-tolerance';
import type { Problem, RelatedPlace } from '../../model/problem';
import type { Requirement } from '../../model/rig';
import type { DimensionName } from '../../units/dimensions';
import { formatAlike, formatTime } from '../../units/units';
import { aboutRequirement } from '../about';
import { type Check, found } from '../check';
import { say } from '../../words/say';

export const tolerance: Check = {
  code: 'require/tolerance',
  title: 'Requirement does not hold within tolerance',
  severity: 'warning',
  explanation:
    'A `require` statement holds at nominal times, but not for every value that the stated tolerances (`+-`, `timer_accuracy`, the range of `response`) allow: corners of the ranges or values inside them. Where not every order of events could be checked, it is reported as not guaranteed (information). The message gives the range; the related places are the times that move it most. Each time has one value for the whole run, so doors behind the same timer move together. Widen what is required, narrow a tolerance, or give the timers more room.',
  *prepare({ facts }) {
    yield* toleranceWork(facts);
  },
  run: ({ rig, facts }) =>
    [...withinTolerance(facts)].flatMap(([requirement, verdict]): Problem[] => {
      if (verdict.state === 'kept') return [];
      return [
        found(
          tolerance,
          requirement.at,
          sentence(requirement, verdict, evaluateRequirement(facts, requirement).found),
          aboutRequirement(rig, requirement),
          {
            severity: verdict.state === 'not-guaranteed' ? 'information' : tolerance.severity,
            related: causes(verdict),
          },
        ),
      ];
    }),
};

function sentence(requirement: Requirement, { range, state }: ToleranceVerdict, nominal: string): string {
  const name = requirementName(requirement);
  if (state === 'unclear')
    return say`${name} holds at nominal times (${nominal}), but within tolerance what it measures may not happen at all.`;
  if (state === 'not-guaranteed')
    return say`${name} holds at nominal times (${nominal}) and at every point checked within tolerance, but is not guaranteed: there are more orders of events than were checked. Run caisson tolerance to check more.`;
  if (!range) return say`${name} holds at nominal times, but not within tolerance.`;
  const dimension = (requirement.comparison?.dimension ?? 'time') as DimensionName;
  const text = formatAlike([range.min, range.max], dimension);
  const ends = say`${text(range.min)} to ${text(range.max)}`;
  return say`${name} holds at nominal times (${nominal}), but within tolerance it is ${ends}.`;
}

function causes({ range }: ToleranceVerdict): RelatedPlace[] {
  return (range?.causes ?? []).slice(0, 4).map(({ parameter, effect }) => ({
    at: parameter.at,
    message: say`${parameter.name}: ${formatTime(parameter.min)} to ${formatTime(parameter.max)} moves it by ${formatTime(Math.abs(effect))}`,
  }));
}
