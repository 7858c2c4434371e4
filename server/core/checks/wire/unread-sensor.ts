/** `wire/unread-sensor`: a sensor that moves nothing. */
import { type Check, found } from '../check';
import { movingNets, requiredNets, sourcesOf } from '../../model/logic';
import { say } from '../../words/say';

export const unreadSensor: Check = {
  code: 'wire/unread-sensor',
  title: 'Sensor that moves nothing',
  severity: 'warning',
  explanation:
    'Nothing that drives a door, a feed or a draw, no sequence and no requirement depends on the sensor: whatever it says, the rig does the same. Either no signal reads it, or the signals that do lead nowhere.',
  run({ rig }) {
    const needed = sourcesOf(rig, [...movingNets(rig), ...requiredNets(rig)]);
    const read = sourcesOf(
      rig,
      rig.network.elements.map((e) => e.net),
    );
    return rig.sensors
      .filter((sensor) => !needed.has(sensor.net))
      .map((sensor) =>
        found(
          unreadSensor,
          sensor.at,
          read.has(sensor.net)
            ? say`${sensor.name} is read by signals that drive nothing, so it has no effect.`
            : say`${sensor.name} is read by no signal, so it has no effect.`,
          { nets: [sensor.net] },
        ),
      );
  },
};
