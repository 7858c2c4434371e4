/** `flow/leak`: a gas behind walls that only hold a liquid. */
import type { Fix, Problem, Source } from '../../model/problem';
import { type Check, type CheckContext, found } from '../check';
import { setProperty } from '../repair/edits';

export const leak: Check = {
  code: 'flow/leak',
  title: 'Walls that do not hold the medium',
  severity: 'warning',
  explanation:
    'The medium is a gas, and a chamber or a stack is stated as `tight liquid`: such walls let a gas through, so no pressure builds up and none of the figures hold. Make it `tight gas`, or move a liquid.',
  run(context) {
    const { rig } = context;
    if (rig.medium?.phase !== 'gas') return [];
    const chambers = rig.chambers
      .filter((c) => c.tight === 'liquid')
      .map((c) => problem(context, c.name, c.at, c.whole));
    const stacks = rig.stacks
      .filter((s) => s.tight === 'liquid')
      .map((s) => problem(context, 'The stack', s.members[0]?.at ?? s.whole, s.whole));
    return [...chambers, ...stacks];
  },
};

function problem(context: CheckContext, who: string, at: Source, whole: Source): Problem {
  const medium = context.rig.medium!.name;
  const message = `${who} is tight for a liquid only, and ${medium} is a gas: it leaks, and no pressure or mass worked out here holds.`;
  const edit = setProperty(context, whole, 'tight', 'gas');
  const fixes: Fix[] = edit
    ? [{ title: `Make ${who === 'The stack' ? 'the stack' : who} tight for gas`, edits: [edit], preferred: true }]
    : [];
  return found(leak, at, message, { fixes });
}
