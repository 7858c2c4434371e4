/** `pulse(signal)`: how long a signal stays on. */
import { pulsesOf } from '../../timing/course';
import { lengthOf } from '../../timing/intervals';
import type { ValueMetric } from '../metric';
import { NOWHERE } from '../metric';
import { spanText } from '../../timing/words';
import { netOfItem } from '../../model/logic';
import { say } from '../../words/say';

export const pulse: ValueMetric = {
  name: 'pulse',
  kind: 'value',
  parameters: [{ name: 'signal', kind: 'signal' }],
  dimensions: ['time'],
  definition: 'How long the signal stays on once it has come on in the stroke. Every pulse counts.',
  whenAbsent: 'failed',
  measure(course, args) {
    const net = args[0] ? netOfItem(course.rig, args[0]) : null;
    const name = args[0]?.kind === 'item' ? args[0].name : '?';
    const all = net === null ? [] : pulsesOf(course.trace, net);
    // One that was on as the trace begins has not come on in it.
    const came = net !== null && course.trace.initial[net] ? all.slice(1) : all;
    const pulses = came.filter((p) => p.from < course.repeatsFrom && p.from >= 0);
    if (pulses.length === 0) return { kind: 'absent', why: say`${name} never comes on` };
    const samples = pulses.map((p) => ({
      value: lengthOf(p),
      why: say`${name} is on ${spanText(p)}`,
      dated: true,
      places: NOWHERE,
    }));
    return { kind: 'samples', samples };
  },
};
