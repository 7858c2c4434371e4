/** `wire/unread-sensor`: a sensor or a switch that moves nothing. */
import { type Check, found } from '../check';
import { movingNets, requiredNets, sourcesOf } from '../../model/logic';
import { say } from '../../words/say';

export const unreadSensor: Check = {
  code: 'wire/unread-sensor',
  title: 'Sensor or switch that moves nothing',
  severity: 'warning',
  explanation:
    'Nothing that drives a door, a feed or a draw, no sequence and no requirement depends on the sensor: whatever it says, the rig does the same. Either no signal reads it, or the signals that do lead nowhere. A switch is named where no signal reads it.',
  run({ rig }) {
    const needed = sourcesOf(rig, [...movingNets(rig), ...requiredNets(rig)]);
    const read = sourcesOf(
      rig,
      rig.network.elements.map((e) => e.net),
    );
    const sensors = rig.sensors
      .filter(({ net }) => !needed.has(net))
      .map(({ name, at, net }) => found(unreadSensor, at, sensorWords(name, read.has(net)), { nets: [net] }));
    // Of a switch that signals read and that still moves nothing, those signals are reported (`name/unused`).
    const switches = rig.switches
      .filter(({ net }) => !needed.has(net) && !read.has(net))
      .map(({ name, at, net }) =>
        found(unreadSensor, at, say`${name} is read by no signal, so throwing it has no effect.`, { nets: [net] }),
      );
    return [...sensors, ...switches];
  },
};

const sensorWords = (name: string, isRead: boolean): string =>
  isRead
    ? say`${name} is read by signals that drive nothing, so it has no effect.`
    : say`${name} is read by no signal, so it has no effect.`;
