/** `timer/never-fires`: an on-delay whose input never stays on long enough. */
import { lossesWork, marginNeeded } from '../../metrics/tolerance';
import type { Repair } from '../../model/problem';
import { literalsInChain } from '../../choose/literals';
import { formatTime } from '../../units/units';
import type { Work } from '../../work/work';
import { type Check, type CheckContext, found, type Found } from '../check';
import { requireFix } from '../repair/edits';
import { isStated } from '../../model/intent';
import type { Candidate } from '../repair/preset-fix';
import { presetFixes } from '../repair/preset-fix';
import type { Goal } from '../../choose/search';
import { feedingChain } from './feeding';
import type { TimerInStroke } from './timers';
import { presetLiteral, signalOf, timersInStrokes } from './timers';
import { say } from '../../words/say';

export const neverFires: Check = {
  code: 'timer/never-fires',
  asksIntent: true,
  title: 'On-delay that never runs out',
  severity: 'warning',
  explanation:
    'The input of a TON comes on in a stroke, but never stays on for the whole preset, in any stroke; a pulse of exactly the preset is too short as well (IEC 61131-3: at that instant the input is off again). Whatever waits for the timer never happens. Shorten its preset or lengthen what feeds it. A timer that is not meant to run out in a healthy stroke (a watchdog) is stated with `require margin(SIGNAL) <= 0 s`.',
  *prepare({ rig, facts }) {
    if (timersInStrokes(facts, 'TON').length > 0) yield* lossesWork(rig);
  },
  run(context) {
    const all = timersInStrokes(context.facts, 'TON');
    const longest = new Map<number, TimerInStroke>();
    for (const t of all) {
      const input = t.timer.longestInput ?? Infinity;
      if (t.timer.comes && input > (longest.get(t.index)?.timer.longestInput ?? -1)) longest.set(t.index, t);
    }
    const fired = new Set(all.filter((t) => t.timer.fires > 0 || t.timer.longestInput === null).map((t) => t.index));
    return [...longest.values()].filter((t) => !fired.has(t.index)).flatMap((t) => problemOf(context, t));
  },
};

function problemOf(context: CheckContext, inStroke: TimerInStroke): Found[] {
  const { element, index, timer } = inStroke;
  const signal = signalOf(context.rig, index);
  if (signal >= 0 && isStated(context.rig, 'margin', 'signal', signal)) return [];
  const input = timer.longestInput!;
  const short = timer.preset - input;
  if (short < 0) return [];
  const luck = short < marginNeeded(context.rig, element) ? say`, so it may never run out` : '';
  const lacks =
    short === 0
      ? say`stays on exactly that long, which is not enough`
      : input === 0
        ? say`goes off at the very instant at which it comes on`
        : say`stays on for ${formatTime(input)}, ${formatTime(short)} too short`;
  const message = say`${timer.name} never runs out: it waits ${formatTime(timer.preset)} and its input ${lacks}${luck}.`;
  const related = feedingChain(context.rig, inStroke).flatMap((link) => link.place);
  return [
    found(
      neverFires,
      element.at,
      message,
      { nets: [element.net] },
      { related, repair: () => fixesOf(context, inStroke) },
    ),
  ];
}

function* fixesOf(context: CheckContext, inStroke: TimerInStroke): Work<Repair[]> {
  const { rig } = context;
  const { element, index, timer } = inStroke;
  const needed = marginNeeded(rig, element);
  const short = timer.preset + needed - timer.longestInput!;
  const own: Candidate = { literal: presetLiteral(element), value: timer.longestInput! - needed };
  const chain = feedingChain(rig, inStroke).map((link) => link.cause);
  const feeding = literalsInChain(rig, chain).map((literal) => ({ literal, value: literal.value + short }));
  const goal: Goal = (facts) =>
    timersInStrokes(facts, 'TON').some(
      (t) => t.index === index && t.timer.fires > 0 && (t.timer.margin ?? Infinity) >= needed,
    );
  const signal = rig.signals[signalOf(rig, index)];
  const intent = signal
    ? requireFix(
        context,
        say`State that ${timer.name} is not meant to run out in a stroke`,
        `margin(${signal.name}) <= 0 s`,
      )
    : [];
  return [...(yield* presetFixes(context, [own, ...feeding], goal, say`so that ${timer.name} runs out`)), ...intent];
}
