/** `flow/over-supply`: doors, feeds and draws take more power at one moment than the supply gives. */
import { preparedStrokes } from './prepared';
import type { Fix } from '../../model/problem';
import { formatSi } from '../../units/units';
import { literalAt, withNumber } from '../repair/edits';
import { WHOLE_RIG } from '../about';
import { type Check, type CheckContext, found } from '../check';
import { say } from '../../words/say';

export const overSupply: Check = {
  code: 'flow/over-supply',
  title: 'More power than the supply gives',
  severity: 'warning',
  explanation:
    'Added up at the moment of a stroke when most doors move or are held, with all feeds and draws running, the stated powers are more than the `limit` of the `supply`. Raise the limit, or keep doors from moving at the same time.',
  *prepare(context) {
    if (context.rig.supply?.limit) yield* preparedStrokes('energy')(context);
  },
  run(context) {
    const { rig, facts } = context;
    const limit = rig.supply?.limit;
    if (!rig.supply || !limit || !facts.flow) return [];
    const peak = Math.max(0, ...facts.flow.strokes.map((stroke) => stroke.energy.peakPower));
    if (peak <= limit.nominal * (1 + 1e-9)) return [];
    const message = say`The rig takes up to ${formatSi(peak, 'power')} at one moment of a stroke; the supply gives ${formatSi(limit.nominal, 'power')}.`;
    const related = rig.doors
      .filter((door) => door.powerMoving)
      .map((door) => ({
        at: door.at,
        message: say`takes ${formatSi(door.powerMoving!.nominal, 'power')} while it moves`,
      }));
    return [found(overSupply, limit.at, message, WHOLE_RIG, { related, fixes: fixesOf(context, peak) })];
  },
};

/** The next readable limit, in the unit it is written in: two figures, rounded up. */
function fixesOf(context: CheckContext, peak: number): Fix[] {
  const { at, nominal } = context.rig.supply!.limit!;
  const literal = literalAt(context, at);
  if (!literal || !(nominal > 0)) return [];
  const needed = (Number(literal.number) / nominal) * peak;
  const step = 10 ** (Math.floor(Math.log10(needed)) - 1);
  const text = withNumber(literal, Math.ceil(needed / step - 1e-9) * step, 2);
  return [{ title: say`Raise the limit of the supply to ${text}`, edits: [{ at, text }] }];
}
