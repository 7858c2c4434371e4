/**
 * What a stroke shows about each timer: how long its input stayed in the state it times, how often it ran out or was set back.
 *
 * Read from the record of timer events, in one pass, and not from the trace: the input of a timer is a logic function that has no net of
 * its own, and what counts is what the block saw, once a round or once a scan. The longest input is taken over the whole run, since the
 * margin of a timer is decided by the best pulse it ever gets; counts are taken over one period, so that they do not depend on how far
 * the run was followed.
 */
import { predicateOf } from '../model/logic';
import type { Rig } from '../model/rig';
import type { TimerFacts } from './facts';
import { TIMER_EVENT } from './record';
import type { TimerRecord } from './record';

/** The part of a run that is looked at: counts from `from` to before `to`, inputs over the whole run. */
export interface Span {
  readonly from: number;
  readonly to: number;
  /** An input that is in its timed state from this time on or longer, and still is when the run ends, stays there permanently. */
  readonly settled: number;
}

interface Tally {
  longest: number;
  unbounded: boolean;
  since: number | null;
  changes: number;
  begun: number;
  fires: number;
  retriggers: number;
}

/** What begins and ends the timed state of an input: TON on … off, TOF off … on, TP rising edge … next rising edge. */
const TIMED: Readonly<Record<string, { readonly begin: number; readonly end: number }>> = {
  TON: { begin: TIMER_EVENT.on, end: TIMER_EVENT.off },
  TOF: { begin: TIMER_EVENT.off, end: TIMER_EVENT.on },
  TP: { begin: TIMER_EVENT.on, end: TIMER_EVENT.on },
};

function follow(tally: Tally, kind: string, what: number, t: number): void {
  const timed = TIMED[kind]!;
  if (what === TIMER_EVENT.on || what === TIMER_EVENT.off) tally.changes++;
  // End before begin: for TP one rising edge is both, the end of one distance and the beginning of the next.
  if (what === timed.end && tally.since !== null) {
    tally.longest = Math.max(tally.longest, t - tally.since);
    tally.since = null;
  }
  if (what === timed.begin) {
    tally.since = t;
    tally.begun++;
  }
}

function factsOf(rig: Rig, element: number, tally: Tally): TimerFacts {
  const { name, kind, preset } = rig.network.elements[element]!;
  const nominal = preset?.nominal ?? 0;
  const longestInput = tally.unbounded ? null : tally.longest;
  const margin = kind === 'TON' && longestInput !== null ? longestInput - nominal : null;
  const comes = tally.unbounded || tally.begun > 0;
  const { fires, retriggers } = tally;
  return { element, name, preset: nominal, longestInput, comes, margin, fires, retriggers };
}

/** Facts of every timer of the rig, in order of its elements. `initial` holds the net values before the trigger. */
export function timerFacts(rig: Rig, record: TimerRecord, span: Span, initial: readonly boolean[]): TimerFacts[] {
  const before = Uint8Array.from(initial, Number);
  const tallies = new Map<number, Tally>();
  rig.network.elements.forEach((element, index) => {
    if (!(element.kind in TIMED)) return;
    tallies.set(index, { longest: 0, unbounded: false, since: null, changes: 0, begun: 0, fires: 0, retriggers: 0 });
  });
  for (let row = 0; row < record.count; row++) {
    const element = record.element[row]!;
    // Timer events come from timers only, and every timer has a tally.
    const tally = tallies.get(element)!;
    const t = record.t[row]!;
    const what = record.what[row]!;
    follow(tally, rig.network.elements[element]!.kind, what, t);
    if (t < span.from || t >= span.to) continue;
    if (what === TIMER_EVENT.fire) tally.fires++;
    if (what === TIMER_EVENT.abandon) tally.retriggers++;
  }
  for (const [element, tally] of tallies) {
    const { kind, inputs } = rig.network.elements[element]!;
    // An input that never changed left no event; its value before the trigger says whether it was on all the time.
    const alwaysOn = tally.changes === 0 && kind === 'TON' && predicateOf(inputs[0]!)(before);
    tally.unbounded = alwaysOn || (tally.since !== null && tally.since <= span.settled);
  }
  return [...tallies].map(([element, tally]) => factsOf(rig, element, tally));
}
