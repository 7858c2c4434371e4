/** `margin(signal)`: what the on-delays of a signal have to spare. */
import type { Requirement, Rig } from '../../model/rig';
import type { StrokeFacts, TimerFacts } from '../../timing/facts';
import { formatTime } from '../../units/units';
import type { Sample, ValueMetric } from '../metric';
import { itemIndex } from '../metric';
import { say } from '../../words/say';

export const margin: ValueMetric = {
  name: 'margin',
  kind: 'value',
  parameters: [{ name: 'signal', kind: 'signal' }],
  dimensions: ['time'],
  definition:
    'For every on-delay (TON) inside the signal: the longest time its input stays on, less its preset. Zero or negative: it does not run out.',
  whenAbsent: 'failed',
  measure(course, args, _requirement: Requirement) {
    if (!course.stroke) return { kind: 'absent', why: say`margins are computed for strokes, not for scenarios` };
    const samples = onDelays(course.rig, course.stroke, itemIndex(args[0])).map((timer) => sampleOf(course.rig, timer));
    if (samples.length > 0) return { kind: 'samples', samples };
    return { kind: 'absent', why: say`the signal holds no on-delay (TON)` };
  },
};

/** Facts of the TON elements inside a signal. */
export function onDelays(rig: Rig, stroke: StrokeFacts, signal: number): TimerFacts[] {
  const elements = rig.signals[signal]?.elements ?? [];
  return stroke.timers.filter((t) => elements.includes(t.element) && rig.network.elements[t.element]?.kind === 'TON');
}

function sampleOf(rig: Rig, timer: TimerFacts): Sample {
  const element = rig.network.elements[timer.element]!;
  const input = timer.longestInput;
  const has = input === null ? say`without end` : !timer.comes ? say`not at all` : say`for ${formatTime(input)}`;
  const why = say`${timer.name} waits ${formatTime(timer.preset)} and its input is on ${has}`;
  const value = input === null ? Infinity : input - timer.preset;
  return { value, why, places: () => [{ at: element.preset?.at ?? element.at, message: `${why}.` }] };
}
