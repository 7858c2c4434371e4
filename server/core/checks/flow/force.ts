/** `flow/force`: a door has to move against more force than its drive gives, or needs more power for its pocket than its drive takes. */
import type { Door } from '../../model/rig';
import { formatSi } from '../../units/units';
import { type Check, found } from '../check';
import { preparedStrokes } from './prepared';
import { say } from '../../words/say';

interface Loads {
  readonly opening: Float64Array;
  readonly closing: Float64Array;
  readonly power: Float64Array;
}

export const force: Check = {
  code: 'flow/force',
  title: 'Door cannot move against the pressure',
  severity: 'warning',
  explanation:
    'The greatest difference of pressure across the door when it leaves its seat or while it moves, times its opening (bore or area), is more than its stated `thrust`; or the power needed to push out what is in its pocket (pressure in the pocket times volume swept per second, at the travel stated) is more than its stated `power moving`. Seals, friction, weight and springs come on top. Equalise before the door moves (another door, a vent), make the opening smaller, give the door more time, or a stronger drive.',
  prepare: preparedStrokes(),
  run({ rig, facts }) {
    const strokes = facts.flow?.strokes ?? [];
    return rig.doors.flatMap((door, k) => [
      ...strokes.flatMap(({ loads }) => tooLittleThrust(door, k, loads)),
      ...tooLittlePower(door, k, Math.max(0, ...strokes.map(({ loads }) => loads.power[k]!))),
    ]);
  },
};

function tooLittleThrust(door: Door, k: number, loads: Loads) {
  const area = door.area?.nominal;
  if (!door.thrust || !area) return [];
  const [opening, closing] = [loads.opening[k]!, loads.closing[k]!];
  const worst = Math.abs(opening) >= Math.abs(closing) ? opening : closing;
  const needed = Math.abs(worst) * area;
  if (needed <= door.thrust.nominal) return [];
  const [pressure, on, takes] = [
    formatSi(Math.abs(worst), 'pressure'),
    formatSi(area, 'area'),
    formatSi(needed, 'force'),
  ];
  const given = formatSi(door.thrust.nominal, 'force');
  const message =
    worst === opening
      ? say`${door.name} opens against ${pressure} on ${on}: ${takes}, and its drive gives ${given}.`
      : say`${door.name} closes against ${pressure} on ${on}: ${takes}, and its drive gives ${given}.`;
  return [found(force, door.thrust.at, message, { doors: [k] })];
}

function tooLittlePower(door: Door, k: number, needed: number) {
  const stated = door.powerMoving;
  if (!stated || !(stated.nominal > 0) || !Number.isFinite(needed) || needed <= stated.nominal) return [];
  const message = say`${door.name} needs up to ${formatSi(needed, 'power')} to push out what is in its pocket while it closes, and its stated power is ${formatSi(stated.nominal, 'power')}: it will close more slowly than its stated travel, or needs a stronger drive.`;
  return [found(force, stated.at, message, { doors: [k] })];
}
