/** `timer/retriggered`: an off-delay whose input comes back before it has run out. */
import { sinceTrigger } from '../../timing/words';
import { marginNeeded } from '../../metrics/tolerance';
import type { Interval } from '../../timing/facts';
import type { Goal } from '../../choose/search';
import { formatTime } from '../../units/units';
import { type Check, type CheckContext, found, type Found } from '../check';
import { presetFixes } from '../repair/preset-fix';
import type { TimerInStroke } from './timers';
import { inputPulses, presetLiteral, timersInStrokes } from './timers';
import { say } from '../../words/say';

export const retriggered: Check = {
  code: 'timer/retriggered',
  title: 'Off-delay started again before it ran out',
  severity: 'information',
  explanation:
    'In one stroke the input of a TOF goes off and comes back before the preset is over, so the output does not go off in between and stays on for longer than the preset suggests. This can be meant (bridging the gap between two pulses), so it is information only.',
  run(context) {
    const seen = new Set<number>();
    return timersInStrokes(context.facts, 'TOF').flatMap((t) => {
      if (t.timer.retriggers === 0 || seen.has(t.index)) return [];
      seen.add(t.index);
      return problemOf(context, t);
    });
  },
};

function problemOf(context: CheckContext, inStroke: TimerInStroke): Found[] {
  const { rig } = context;
  const { element, index, stroke, timer } = inStroke;
  const gap = bridgedGaps(inputPulses(rig, stroke.trace, element), timer.preset)[0];
  if (!gap) return [];
  const length = gap.to! - gap.from;
  const message = say`${timer.name} is started again before it runs out: its input goes off at ${formatTime(gap.from)} and comes back ${formatTime(length)} later ${sinceTrigger(stroke)}, within the preset of ${formatTime(timer.preset)}.`;
  const goal: Goal = (facts) =>
    timersInStrokes(facts, 'TOF').every((t) => t.index !== index || t.timer.retriggers === 0);
  const candidate = { literal: presetLiteral(element), value: length - marginNeeded(rig, element) };
  const repair = () => presetFixes(context, [candidate], goal, say`so that ${timer.name} runs out in between`);
  return [found(retriggered, element.at, message, { nets: [element.net] }, { repair })];
}

/** Times between two pulses that are shorter than the preset. */
function bridgedGaps(pulses: readonly Interval[], preset: number): Interval[] {
  return pulses.slice(1).flatMap((pulse, i) => {
    const from = pulses[i]!.to!;
    return pulse.from > from && pulse.from - from < preset ? [{ from, to: pulse.from }] : [];
  });
}
