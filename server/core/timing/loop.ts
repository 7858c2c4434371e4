/**
 * Which of the nets that go on changing at one instant form the loop. What merely follows a loop changes with it for as long, so being busy
 * does not tell the two apart; leading back to itself does. One search per busy net: quadratic, but it runs once, in a rig that is in error.
 */
import type { Program } from './program';

/** Of the nets in `busy`, those that lead back to themselves through busy nets only; ascending. */
export function loopNets(program: Program, busy: ReadonlySet<number>): number[] {
  return [...busy].filter((net) => leadsBack(program, busy, net)).sort((a, b) => a - b);
}

function leadsBack(program: Program, busy: ReadonlySet<number>, net: number): boolean {
  const { fanStart, fanElement, outputNet } = program;
  const seen = new Set<number>();
  const waiting = [net];
  for (let at = waiting.pop(); at !== undefined; at = waiting.pop()) {
    for (let i = fanStart[at]!; i < fanStart[at + 1]!; i++) {
      const next = outputNet[fanElement[i]!]!;
      if (next === net) return true;
      if (!busy.has(next) || seen.has(next)) continue;
      seen.add(next);
      waiting.push(next);
    }
  }
  return false;
}
