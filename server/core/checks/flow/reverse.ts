/** `flow/reverse`: a stroke that takes out of the chamber it is to fill. */
import type { StackStroke } from '../../flow/facts';
import type { Problem } from '../../model/problem';
import { formatSi } from '../../units/units';
import { type Check, type CheckContext, found } from '../check';
import { say } from '../../words/say';

export const reverse: Check = {
  code: 'flow/reverse',
  title: 'Strokes flow backwards',
  severity: 'warning',
  explanation:
    "With the trigger's chamber at its threshold, one stroke takes more out of the last chamber of its stack than it brings: the doors open in the wrong order. Where a path stands open right through, that is reported as `door/straight-through` instead; strokes that only stop bringing anything are `flow/stalls`.",
  run: (context) =>
    (context.facts.flow?.strokes ?? []).flatMap((stroke) =>
      stroke.stacks
        .filter((s) => isReverse(s) && !isOpenThrough(context, stroke.stroke, s.stack))
        .map((s) => problem(context, s)),
    ),
};

/** Below this part of the pockets' contents a backward flow is what the clearances exchange, not a stroke. */
function isReverse(stroke: StackStroke): boolean {
  if (stroke.atTrigger >= -1e-9) return false;
  // Computed when first read: only where it decides.
  const { atStart } = stroke;
  return atStart !== null && atStart < -1e-9;
}

const isOpenThrough = ({ facts }: CheckContext, stroke: number, stack: number): boolean =>
  facts.timing.strokes[stroke]!.straightThrough.some((s) => s.path.stack === stack && s.intervals.length > 0);

function problem({ rig }: CheckContext, { stack, from, to, atTrigger }: StackStroke): Problem {
  const [source, target] = [rig.chambers[from]!.name, rig.chambers[to]!.name];
  const message = say`A stroke takes ${formatSi(-atTrigger, 'mass')} out of ${target} instead of bringing some from ${source}.`;
  const doors = rig.stacks[stack]!.members.filter((m) => m.kind === 'door');
  const related = doors.map((m) => ({ at: rig.doors[m.index]!.at, message: say`opens or closes on the way` }));
  return found(reverse, rig.stacks[stack]!.members[0]!.at, message, { doors: doors.map((m) => m.index) }, { related });
}
