/** `cycle()`: how long one stroke takes, from the trigger until the last door is back at rest. */
import { formatTime } from '../../units/units';
import type { ValueMetric } from '../metric';
import { NOWHERE } from '../metric';
import { say } from '../../words/say';

export const cycle: ValueMetric = {
  name: 'cycle',
  kind: 'value',
  parameters: [],
  dimensions: ['time'],
  definition:
    'The length of the first stroke: from the edge of the trigger until the last door is back at its rest position, travel included.',
  whenAbsent: 'failed',
  measure({ stroke }) {
    if (!stroke) return { kind: 'absent', why: say`a scenario has no single stroke` };
    if (stroke.strokeEnds === null)
      return { kind: 'absent', why: say`the stroke does not end while the trigger is held` };
    const why = say`the last door is back at rest at ${formatTime(stroke.strokeEnds)}`;
    return { kind: 'samples', samples: [{ value: stroke.strokeEnds, why, dated: true, places: NOWHERE }] };
  },
};
