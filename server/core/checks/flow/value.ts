/** `flow/value`: something about masses or pressures that makes no sense, so that flow is not computed (or not to be believed). */
import { modelFlow } from '../../flow/flow-model';
import type { Problem, Source } from '../../model/problem';
import type { Check, CheckContext } from '../check';

export const value: Check = {
  code: 'flow/value',
  title: 'Flow cannot be computed',
  severity: 'error',
  explanation:
    'A volume, a pressure, a rate or the medium is missing or impossible, a stack does not run from chamber to chamber, or the contents at the start are above a limit or outside the range in which the law of the medium holds. Flow is not computed (for a warning, it is computed all the same); timing is not affected.',
  run: (context) => modelFlow(context.rig).problems.filter((problem) => !isReported(context, problem)),
};

/** Whether the resolver has already found fault with the statement: one mistake, one message. */
function isReported({ rig, resolution }: CheckContext, { at }: Problem): boolean {
  const inside = (outer: Source, inner: Source): boolean =>
    outer.uri === inner.uri && outer.start <= inner.start && inner.end <= outer.end;
  const statements = [
    ...rig.chambers,
    ...rig.doors,
    ...rig.lines,
    ...rig.sensors,
    ...rig.stacks,
    ...(rig.medium ? [rig.medium] : []),
  ];
  const own = statements.map((s) => s.whole).filter((whole) => inside(whole, at));
  return resolution.problems.some((p) => p.severity === 'error' && own.some((whole) => inside(whole, p.at)));
}
