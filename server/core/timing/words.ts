/**
 * Wording shared by verdicts and checks: names in code marks, times with their unit, lists. The kernels give values and no sentences;
 * what little they do word is here, so that a time or a trigger reads alike in a hover, a finding and a table.
 */
import type { Rig } from '../model/rig';
import type { CauseLink, Interval, StrokeFacts, TimerFacts } from './facts';
import { formatTime } from '../units/units';
import { say } from '../words/say';

/** "a", "a and b", "a, b and c". */
export function listText(parts: readonly string[], last: 'and' | 'or' = 'and'): string {
  if (parts.length < 2) return parts.join('');
  const [before, end] = [parts.slice(0, -1).join(', '), parts[parts.length - 1]!];
  return last === 'and' ? say`${before} and ${end}` : say`${before} or ${end}`;
}

/** "ready on"; for a rig that runs by itself "power on". */
export function triggerText({ trigger, becomes }: Pick<StrokeFacts, 'trigger' | 'becomes'>): string {
  if (trigger.kind === 'power') return say`power on`;
  return becomes ? say`${trigger.name} on` : say`${trigger.name} off`;
}

/** "scenario night", as pictures and curves of it are named. */
export const scenarioText = ({ name }: { readonly name: string }): string => say`scenario ${name}`;

/** Names a stroke of a rig in ids: alike in every language, and never shown. */
export function strokeKey({ trigger, becomes }: Pick<StrokeFacts, 'trigger' | 'becomes'>): string {
  return trigger.kind === 'power' ? 'power on' : `${trigger.name} ${becomes ? 'on' : 'off'}`;
}

/** "after ready goes on", "after the first opening": what the cumulative times of a stroke count from. */
export function sinceTrigger({ trigger, becomes }: Pick<StrokeFacts, 'trigger' | 'becomes'>): string {
  if (trigger.kind === 'power') return say`after the first opening`;
  return becomes ? say`after ${trigger.name} goes on` : say`after ${trigger.name} goes off`;
}

/** The timers of a chain of causes, last first, as "`upper_on` (1.4 s)"; empty where none ran out. */
export function timersOf(chain: readonly CauseLink[]): string {
  const timers = chain.filter((link) => link.preset > 0).reverse();
  return listText(timers.map((link) => `${link.name} (${formatTime(link.preset)})`));
}

/** "from 2.2 s to 2.45 s", "from 2.2 s on". */
export function spanText({ from, to }: Interval): string {
  return to === null ? say`from ${formatTime(from)} on` : say`from ${formatTime(from)} to ${formatTime(to)}`;
}

/** What the longest input of a block counts, behind its time: an off-delay times its input being off, a pulse the time between starts. */
const COUNTED: Readonly<Record<string, (time: string) => string>> = {
  TOF: (time) => say`${time} off`,
  TP: (time) => say`${time} apart`,
};

/** The longest input of a timer in a stroke, as "1.4 s", "2.02 s off", "2.04 s apart" or "no end", and what the preset leaves of it. */
export function timerWords(rig: Rig, timer: TimerFacts): { readonly longest: string; readonly spare: string } {
  const { longestInput, comes, margin } = timer;
  const counted = COUNTED[rig.network.elements[timer.element]?.kind ?? ''] ?? ((time: string) => time);
  return {
    longest: longestInput === null ? say`no end` : !comes ? '-' : counted(formatTime(longestInput)),
    // A timer whose input does not come in this stroke is none of its timers.
    spare: margin === null || !comes ? '-' : formatTime(margin),
  };
}
