/** `flow/force`: a door has to move against more force than its drive gives. */
import { preparedStrokes } from './prepared';
import { formatSi } from '../../units/units';
import { type Check, found } from '../check';

export const force: Check = {
  code: 'flow/force',
  title: 'Door cannot move against the pressure',
  severity: 'warning',
  explanation:
    'The greatest difference of pressure across the door when it leaves its seat or while it moves, times its opening (bore or area), is more than its stated `thrust`. Seals, friction, weight and springs come on top. Equalise before the door moves (another door, a vent), make the opening smaller, or give it a stronger drive.',
  prepare: preparedStrokes(),
  run({ rig, facts }) {
    return (facts.flow?.strokes ?? []).flatMap(({ loads }) =>
      rig.doors.flatMap((door, k) => {
        const area = door.area?.nominal;
        if (!door.thrust || !area) return [];
        const [opening, closing] = [loads.opening[k]!, loads.closing[k]!];
        const worst = Math.abs(opening) >= Math.abs(closing) ? opening : closing;
        const needed = Math.abs(worst) * area;
        if (needed <= door.thrust.nominal) return [];
        const when = worst === opening ? 'opens' : 'closes';
        const message = `${door.name} ${when} against ${formatSi(Math.abs(worst), 'pressure')} on ${formatSi(area, 'area')}: ${formatSi(needed, 'force')}, and its drive gives ${formatSi(door.thrust.nominal, 'force')}.`;
        return [found(force, door.thrust.at, message)];
      }),
    );
  },
};
