/** `sensor/chatter`: a sensor that switches at one value both ways. */
import type { Fix, Problem } from '../../model/problem';
import type { Rig, Sensor } from '../../model/rig';
import { formatNumber, parseQuantity } from '../../units/units';
import { toNumber } from '../../units/rational';
import { literalAt } from '../repair/edits';
import { type Check, type CheckContext, found } from '../check';
import { inputsOf, movingNets, sourcesOf } from '../../model/logic';
import { say } from '../../words/say';

export const chatter: Check = {
  code: 'sensor/chatter',
  title: 'Sensor without hysteresis',
  severity: 'warning',
  explanation:
    'The sensor goes on and off at the same value, so around that value it chatters with every ripple, and each time the rig may start. Give it a value at which it clears: `pressure above 1.5 bar clears below 1.3 bar`. Not reported where the sensor states how long it stays (`min_on`, `min_off`), where it is read by timers only (a TON or TOF takes the chatter out), or where it moves nothing.',
  run(context) {
    const moving = sourcesOf(context.rig, movingNets(context.rig));
    return context.rig.sensors.flatMap((sensor) => {
      const isBare = sensor.on !== null && sensor.clears === null && sensor.minOn === null && sensor.minOff === null;
      return isBare && moving.has(sensor.net) && !isFiltered(context.rig, sensor) ? [problemOf(context, sensor)] : [];
    });
  },
};

/** Whether only on-delays and off-delays with a preset read it. */
function isFiltered(rig: Rig, sensor: Sensor): boolean {
  if (movingNets(rig).includes(sensor.net)) return false;
  const readers = rig.network.elements.filter((e) => inputsOf(e).includes(sensor.net));
  return readers.every((e) => (e.kind === 'TON' || e.kind === 'TOF') && (e.preset?.nominal ?? 0) > 0);
}

const SENSED: Readonly<Record<NonNullable<Sensor['on']>['sensed'], () => string>> = {
  pressure: () => say`pressure`,
  density: () => say`density`,
  mass: () => say`mass`,
  level: () => say`level`,
};

function problemOf(context: CheckContext, sensor: Sensor): Problem {
  const { sensed, side } = sensor.on!;
  const message = say`${sensor.name} has no hysteresis: it goes on and off at the same ${SENSED[sensed]()}, and chatters there.`;
  const fix = clearsFix(context, sensor, side === 'above' ? -1 : 1);
  return found(chatter, sensor.at, message, { nets: [sensor.net] }, { fixes: fix });
}

/** Adds `clears` 5 % of the value away (our own choice), in the unit of the value. */
function clearsFix(context: CheckContext, sensor: Sensor, sign: 1 | -1): Fix[] {
  const { at } = sensor.on!.value;
  const literal = literalAt(context, at);
  if (!literal || at.uri !== sensor.whole.uri) return [];
  const { blank, unit } = literal;
  const parsed = parseQuantity(literal.number, unit);
  if (!parsed.ok) return [];
  const number = Number(literal.number);
  // Of a gauge pressure the share is taken of the absolute one, in the unit written.
  const perUnit = toNumber(parsed.difference) / number || 1;
  const size = parsed.offset ? toNumber(parsed.value) / perUnit : number;
  const clears = formatNumber(number + sign * 0.05 * Math.abs(size));
  const word = sign < 0 ? 'below' : 'above';
  const text = `  clears ${word} ${clears}${blank}${unit}`;
  const edit = { at: { ...at, start: at.end }, text };
  return [{ title: say`Let ${sensor.name} clear ${word} ${clears} ${unit}`, edits: [edit], preferred: true }];
}
