/** `flow/temperature`: contents get hotter than their chamber may. */
import { preparedFilling, preparedStrokes } from './prepared';
import { formatSi } from '../../units/units';
import { type Check, found } from '../check';
import { say } from '../../words/say';

export const temperature: Check = {
  code: 'flow/temperature',
  title: 'Chamber gets too hot',
  severity: 'warning',
  explanation:
    'As the rig is followed by itself, the contents of a chamber get hotter than its stated temperature `limit`. For an isothermal gas, which stays as warm as its walls, an upper bound is reported instead: one stroke without any heat to the walls. Let it cool between strokes, compress in stages, or from less.',
  *prepare(context) {
    if (!context.rig.chambers.some((chamber) => chamber.temperatureLimit)) return;
    yield* preparedFilling(context);
    yield* preparedStrokes('adiabatic')(context);
  },
  run({ rig, facts }) {
    const { flow } = facts;
    if (!flow?.medium) return [];
    return rig.chambers.flatMap((chamber, k) => {
      const limit = chamber.temperatureLimit;
      if (!limit) return [];
      const followed = flow.filling?.hottest[k] ?? 0;
      const bound = Math.max(0, ...flow.strokes.map((s) => s.adiabatic?.hottest[k] ?? 0));
      const hottest = Math.max(followed, bound);
      if (hottest <= limit.nominal * (1 + 1e-9)) return [];
      const how = followed >= bound ? say`as the rig is followed` : say`in one stroke without heat to the walls`;
      const message = say`${chamber.name} gets as hot as ${formatSi(hottest, 'temperature')} ${how}; its limit is ${formatSi(limit.nominal, 'temperature')}.`;
      return [found(temperature, limit.at, message, { chambers: [k] })];
    });
  },
};
