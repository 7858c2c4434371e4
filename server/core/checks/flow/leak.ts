/** `flow/leak`: a gas behind walls that only hold a liquid. */
import type { Fix, Source } from '../../model/problem';
import type { About } from '../about';
import { type Check, type CheckContext, found, type Found } from '../check';
import { setProperty } from '../repair/edits';
import { say } from '../../words/say';

export const leak: Check = {
  code: 'flow/leak',
  title: 'Walls that do not hold the medium',
  severity: 'warning',
  explanation:
    'The medium is a gas, and a chamber or a stack is stated as `tight liquid`: such walls let a gas through, so no pressure builds up and none of the figures hold. Make it `tight gas`, or move a liquid.',
  run(context) {
    const { rig } = context;
    if (rig.medium?.phase !== 'gas') return [];
    const chambers = rig.chambers.flatMap((c, k) =>
      c.tight === 'liquid' ? [problem(context, c.name, c, { chambers: [k] })] : [],
    );
    const stacks = rig.stacks.flatMap(({ tight, members, whole }) => {
      if (tight !== 'liquid') return [];
      const doors = members.flatMap((m) => (m.kind === 'door' ? [m.index] : []));
      return [problem(context, null, { at: members[0]?.at ?? whole, whole }, { doors })];
    });
    return [...chambers, ...stacks];
  },
};

interface Stated {
  readonly at: Source;
  readonly whole: Source;
}

function problem(context: CheckContext, name: string | null, { at, whole }: Stated, about: About): Found {
  const medium = context.rig.medium!.name;
  const message =
    name === null
      ? say`The stack is tight for a liquid only, and ${medium} is a gas: it leaks, and no pressure or mass computed here holds.`
      : say`${name} is tight for a liquid only, and ${medium} is a gas: it leaks, and no pressure or mass computed here holds.`;
  const title = name === null ? say`Make the stack tight for gas` : say`Make ${name} tight for gas`;
  const edit = setProperty(context, whole, 'tight', 'gas');
  const fixes: Fix[] = edit ? [{ title, edits: [edit], preferred: true }] : [];
  return found(leak, at, message, about, { fixes });
}
