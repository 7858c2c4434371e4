/** `timer/thin-margin`: an on-delay that runs out only just. */
import { lossesWork, marginNeeded, THIN } from '../../metrics/tolerance';
import type { Repair } from '../../model/problem';
import type { Goal } from '../../choose/search';
import { formatTime, timeLiteral } from '../../units/units';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { requireFix } from '../repair/edits';
import { isStated } from '../../model/intent';
import { presetFixes } from '../repair/preset-fix';
import { feedingChain } from './feeding';
import type { TimerInStroke } from './timers';
import { presetLiteral, signalOf, timersInStrokes } from './timers';
import { say } from '../../words/say';

export const thinMargin: Check = {
  code: 'timer/thin-margin',
  asksIntent: true,
  title: 'On-delay with hardly any margin',
  severity: 'warning',
  explanation: `A TON runs out, but its input stays on for hardly longer than the preset, so that a small difference decides whether it runs out. Where tolerances are stated (\`timer_accuracy\`, \`+-\`), the margin must be at least what they can take from it: the preset of the timer, the preset of the timer that feeds it, and the spread of that one's response. Where none are stated, the margin must be at least ${THIN.least / 1000} ms and ${THIN.share * 100} % of the preset (our own choice, no source). A timer that ends its own input by running out is not looked at. A margin that is meant is stated with \`require margin(SIGNAL) >= …\`.`,
  *prepare({ rig, facts }) {
    if (timersInStrokes(facts, 'TON').length > 0) yield* lossesWork(rig);
  },
  run(context) {
    const thinnest = new Map<number, TimerInStroke>();
    for (const t of timersInStrokes(context.facts, 'TON')) {
      const { margin, fires } = t.timer;
      if (margin === null || margin <= 0 || fires === 0) continue;
      if (margin < (thinnest.get(t.index)?.timer.margin ?? Infinity)) thinnest.set(t.index, t);
    }
    return [...thinnest.values()].flatMap((t) => problemOf(context, t));
  },
};

function problemOf(context: CheckContext, inStroke: TimerInStroke): Found[] {
  const { element, index, timer } = inStroke;
  const { rig } = context;
  const needed = marginNeeded(rig, element);
  const signal = signalOf(rig, index);
  const endsItself = feedingChain(rig, inStroke).some((link) => link.cause.index === element.net);
  if (endsItself || timer.margin! >= needed || (signal >= 0 && isStated(rig, 'margin', 'signal', signal))) return [];
  const message = say`${timer.name} has hardly any margin: it waits ${formatTime(timer.preset)} and its input stays on for ${formatTime(timer.longestInput!)}, only ${formatTime(timer.margin!)} longer (${formatTime(needed)} needed).`;
  return [
    found(
      thinMargin,
      element.at,
      message,
      { nets: [element.net] },
      { repair: () => fixesOf(context, inStroke, needed) },
    ),
  ];
}

function* fixesOf(context: CheckContext, { element, index, timer }: TimerInStroke, needed: number): Work<Repair[]> {
  const goal: Goal = (facts) =>
    timersInStrokes(facts, 'TON').every(
      (t) => t.index !== index || t.timer.margin === null || t.timer.margin >= marginNeeded(facts.rig, t.element),
    );
  const candidate = { literal: presetLiteral(element), value: timer.longestInput! - needed };
  const signal = context.rig.signals[signalOf(context.rig, index)];
  const intent = signal
    ? requireFix(
        context,
        say`State that ${formatTime(timer.margin!)} is enough margin`,
        `margin(${signal.name}) >= ${timeLiteral(timer.margin!)}`,
      )
    : [];
  return [
    ...(yield* presetFixes(context, [candidate], goal, say`so that ${timer.name} has time to spare`, (facts) =>
      lossesWork(facts.rig),
    )),
    ...intent,
  ];
}
