/** `require/*`: the verdicts on the requirements of the text. */
import { preferenceProblem, requirementProblem } from '../../metrics/arguments';
import { evaluateRequirement } from '../../metrics/evaluate';
import { metricNamed } from '../../metrics/registry';
import { unreadBasis } from '../../metrics/unread';
import type { Problem, Repair } from '../../model/problem';
import type { Requirement, Rig } from '../../model/rig';
import { meetingChanges } from '../../choose/meet';
import type { Work } from '../../work/work';
import type { StrokeFacts } from '../../timing/facts';
import { type About, aboutRequirement } from '../about';
import { type Check, type CheckContext, found } from '../check';
import { changeFixes, mayNotTry, triedEnough } from '../repair/preset-fix';
import { netsWaitedFor, readingFixes, strokesMissed, unreadPlaces } from './not-repeating';
import { say } from '../../words/say';

export const failed: Check = {
  code: 'require/failed',
  title: 'Requirement does not hold',
  severity: 'error',
  explanation:
    'A `require` statement was measured and does not hold: the message says what was found, by how much it misses, and what makes it so. It is measured in every stroke in which what it measures happens (or in the scenario named), at nominal times, and the worst case counts. Where turning one timer would make it hold, that is offered.',
  run: (context) =>
    context.rig.requirements.flatMap((requirement) => {
      const verdict = evaluateRequirement(context.facts, requirement);
      if (verdict.state !== 'failed') return [];
      const once = strokesMissed(context, requirement, verdict);
      return [
        found(failed, requirement.at, verdict.message, aboutVerdict(context.rig, requirement, once), {
          related: [...verdict.places, ...unreadPlaces(context, once)],
          repair: () => fixesOf(context, requirement, once),
        }),
      ];
    }),
};

/** What one search costs, roughly. */
const TRIES = 6;

function aboutVerdict(rig: Rig, requirement: Requirement, once: readonly StrokeFacts[]): About {
  const about = aboutRequirement(rig, requirement);
  return once.length === 0 ? about : { ...about, waitsFor: netsWaitedFor(rig, once) };
}

function* fixesOf(
  context: CheckContext,
  requirement: Requirement,
  once: readonly StrokeFacts[],
): Work<readonly Repair[]> {
  if (!context.recheck) return [];
  const reading = yield* readingFixes(context, once);
  if (reading.length > 0) return reading;
  if (mayNotTry(context, TRIES)) return [triedEnough()];
  const changes = yield* meetingChanges(context.facts, requirement);
  if (changes.length === 0)
    return [
      {
        because: say`no change of one time behind it, or of two by half each, makes it hold without breaking what holds now`,
      },
    ];
  return yield* changeFixes(context, changes, say`so that the requirement holds`);
}

export const undecided: Check = {
  code: 'require/undecided',
  title: 'Requirement is not decided',
  severity: 'warning',
  explanation:
    'Nothing can be said about a `require` statement: what it measures is not computed yet, there is nothing to measure, or the rig could not be computed to its end. It does not count as met; `caisson check --strict` makes it an error.',
  run: (context) =>
    context.rig.requirements.flatMap((requirement) => {
      const verdict = evaluateRequirement(context.facts, requirement);
      if (verdict.state !== 'undecided' && verdict.state !== 'not-computed') return [];
      // The mistake itself is reported, where it stands.
      if (
        verdict.state === 'undecided' &&
        unreadBasis(context.rig, requirement, metricNamed(requirement.metric)!) !== null
      )
        return [];
      const once = strokesMissed(context, requirement, verdict);
      return [
        found(undecided, requirement.at, verdict.message, aboutVerdict(context.rig, requirement, once), {
          related: unreadPlaces(context, once),
        }),
      ];
    }),
};

export const malformed: Check = {
  code: 'require/arguments',
  title: 'Requirement or preference with the wrong arguments',
  severity: 'error',
  explanation:
    'The metric of a `require` or `prefer` statement takes other arguments, its result is compared with something of another dimension, or it gives no number that could be preferred. The message shows the signature. (A metric that does not exist is `name/unknown`.)',
  run: ({ rig }) =>
    [
      ...rig.requirements.map((requirement) => requirementProblem(rig, requirement)),
      ...rig.preferences.map((preference) => preferenceProblem(rig, preference)),
    ].flatMap((problem): Problem[] => (problem && problem !== 'silent' ? [problem] : [])),
};
