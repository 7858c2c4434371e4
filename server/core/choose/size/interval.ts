/** What sets the interval between strokes: the time whose change moves the next stroke and nothing within one. */
import type { Rig } from '../../model/rig';
import type { RigFacts } from '../../run/facts';
import { analysisOf } from '../../run/analyse';
import type { StrokeFacts } from '../../timing/facts';
import type { Work } from '../../work/work';
import type { TimeLiteral } from '../literals';
import { placeKey, withTime } from '../literals';
import type { IntervalScrew } from './choice';

/** A change that no rounding of scans hides, in parts of the interval. */
const TRIED = 0.1;

/**
 * The screw of one stroke (index into the timing facts); null where it does not repeat, or where no time of the text sets its interval
 * alone. Each time is tried: the interval grows by as much as the time, and every first opening stays where it is.
 */
export function* intervalScrew(facts: RigFacts, index: number): Work<IntervalScrew | null> {
  const stroke = facts.timing.strokes[index];
  const now = stroke?.repeat ?? null;
  if (!stroke || now === null) return null;
  const by = Math.max(10_000, Math.round((now * TRIED) / 10_000) * 10_000);
  for (const literal of timesOf(facts.rig)) {
    const after = yield* analysisOf(withTime(facts.rig, literal.at, literal.value + by));
    const moved = after.timing.strokes[index];
    if (moved && moved.repeat === now + by && sameOpenings(stroke, moved)) return { literal, now };
  }
  return null;
}

/** Every preset and every step of a sequence once. */
function timesOf(rig: Rig): TimeLiteral[] {
  const found = new Map<string, TimeLiteral>();
  const put = (literal: TimeLiteral): void => {
    if (!found.has(placeKey(literal.at))) found.set(placeKey(literal.at), literal);
  };
  for (const { preset, name } of rig.network.elements)
    if (preset && preset.nominal > 0) put({ at: preset.at, value: preset.nominal, name });
  for (const { repeatAfter, name } of rig.sequences)
    if (repeatAfter) put({ at: repeatAfter.at, value: repeatAfter.nominal, name });
  return [...found.values()];
}

/** Whether the doors of two strokes open and shut at the same moments, counted from their triggers. */
export function sameOpenings(a: StrokeFacts, b: StrokeFacts): boolean {
  const first = ({ doors }: StrokeFacts): string =>
    doors.map(({ windows }) => `${windows[0]?.notShut.from} ${windows[0]?.notShut.to}`).join();
  return a.strokeEnds === b.strokeEnds && first(a) === first(b);
}
