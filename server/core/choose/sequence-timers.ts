/**
 * Timers for a wanted sequence: the text of signals and drives that bring about the windows of a `sequence`, response of the
 * elements made up for. Times count from the first opening, as in the sequence. Two ways, the first of which the blocks allow:
 *
 * - by pulses (TP, TON): `NAME_start = TRIGGER and not NAME_busy`, `NAME_busy = TP(NAME_start, …)` until just before the repeat. A window from the
 *   start is `TP(NAME_start, length)`, a later one `TP(TON(NAME_busy, from), length)`. A stroke that has begun is finished.
 * - by delays (TON, TOF): `NAME_busy = TOF(NAME_start, …)`, which cuts the start off again. A window from the start is `TOF(NAME_start, …)`, a later one
 *   `TOF(TON(X, …), …)` where X is on as it opens and off before it shuts: a window that is there, or a `NAME_run` made for it.
 *
 * Without a repeat time the start is `R_TRIG(TRIGGER)`. Both have one block for each window from the start, two for each later one and one for the hold-off.
 */
import type { Rig, Sequence } from '../model/rig';
import { timeLiteral } from '../units/units';

/** Statements to put into the rig in place of the sequence, or why there are none. */
export type SequenceTimers =
  { readonly ok: true; readonly statements: readonly string[] } | { readonly ok: false; readonly reason: string };

interface Window {
  readonly from: number;
  readonly to: number;
}

/** @param allowed names of blocks that may be used; all where null */
export function sequenceTimers(rig: Rig, sequence: Sequence, allowed: readonly string[] | null = null): SequenceTimers {
  const trigger = triggerName(rig, sequence);
  if (trigger === null) return refuse('the sequence has no trigger that can be named');
  const windows = windowsOf(sequence);
  if (windows.size === 0) return refuse('the sequence opens no door, or does not close it again');
  const last = Math.max(...[...windows.values()].flat().map((w) => w.to));
  const late = lateness(rig);
  const early = [...windows.values()].flat().find((w) => w.from > 0 && w.from <= late);
  if (early)
    return refuse(`a window ${timeLiteral(early.from)} after the start is sooner than the elements can answer`);
  const hold =
    sequence.repeatAfter === null ? null : sequence.repeatAfter.nominal - last - 3 * responseOf(rig) - scanOf(rig);
  if (hold !== null && hold <= 0) return refuse('the sequence repeats sooner than the elements can answer');
  const plan: Plan = {
    rig,
    name: prefixFor(rig, sequence.name),
    trigger,
    last,
    repeat: sequence.repeatAfter?.nominal ?? null,
    windows: [...windows].map(([door, list]) => ({ door: rig.doors[door]!.name, list })),
    response: responseOf(rig),
    scan: scanOf(rig),
  };
  const ways = [byPulses(plan), byDelays(plan)].filter((way) => way !== null);
  const way = ways.find((statements) => allowed === null || blocksIn(statements).every((b) => allowed.includes(b)));
  if (way) return { ok: true, statements: way };
  const needed = ways.map((statements) => blocksIn(statements).join(' and '));
  return refuse(`it needs ${needed.join(', or ')}, which --blocks does not allow`);
}

interface Plan {
  readonly rig: Rig;
  readonly name: string;
  readonly trigger: string;
  /** End of the last window, µs from the first opening. */
  readonly last: number;
  readonly repeat: number | null;
  readonly windows: readonly { readonly door: string; readonly list: readonly Window[] }[];
  readonly response: number;
  readonly scan: number;
}

const BLOCK = /\b(TON|TOF|TP|R_TRIG|F_TRIG|SR|RS|CTU)\(/g;

/** The blocks that statements use, each once. */
export const blocksIn = (statements: readonly string[]): string[] =>
  [...new Set(statements.flatMap((s) => [...s.matchAll(BLOCK)].map((m) => m[1]!)))].sort();

function refuse(reason: string): SequenceTimers {
  return { ok: false, reason };
}

const responseOf = ({ controller }: Rig): number => (controller.style === 'response' ? controller.time.nominal : 0);

/** In scanned style the start sees what was written after it one scan later. */
const scanOf = ({ controller }: Rig): number => (controller.style === 'scan' ? controller.time.nominal : 0);

/** By how much a window behind an on-delay would come later than one at the start. */
const lateness = (rig: Rig): number => 2 * responseOf(rig);

function triggerName(rig: Rig, { triggerNet }: Sequence): string | null {
  if (triggerNet === null) return null;
  const name = rig.network.nets[triggerNet]?.name ?? '/';
  return name.includes('/') ? null : name;
}

/** Windows of each door in order; a door that is not closed again has none. */
function windowsOf({ steps }: Sequence): Map<number, Window[]> {
  const windows = new Map<number, Window[]>();
  const since = new Map<number, number>();
  for (const step of steps) {
    for (const door of step.doors) {
      const from = since.get(door);
      if (step.open) since.set(door, from ?? step.at.nominal);
      else if (from !== undefined && step.at.nominal > from) {
        windows.set(door, [...(windows.get(door) ?? []), { from, to: step.at.nominal }]);
        since.delete(door);
      }
    }
  }
  return since.size > 0 ? new Map() : windows;
}

/** The sequence's name, or one with a number where a signal of that beginning is there already. */
function prefixFor(rig: Rig, name: string): string {
  const taken = rig.network.nets.map((n) => n.name);
  const isFree = (prefix: string): boolean => !taken.some((t) => t.startsWith(`${prefix}_`));
  for (let i = 1; ; i++) {
    const candidate = i === 1 ? name : `${name}${i}`;
    if (isFree(candidate)) return candidate;
  }
}

function byPulses({ name, trigger, last, repeat, windows, response, scan, rig }: Plan): string[] {
  // The busy pulse begins a response after the start; the start sees its end a response (or a scan) later.
  const [start, busy] =
    repeat === null ? [`R_TRIG(${trigger})`, last] : [`${trigger} and not ${name}_busy`, repeat - 2 * response - scan];
  const isLate = windows.some(({ list }) => list.some((w) => w.from > 0));
  const doors = windows.flatMap(({ door, list }) =>
    doorStatements(rig, name, door, list, ({ from, to }) => {
      const input = from === 0 ? `${name}_start` : `TON(${name}_busy, ${timeLiteral(from - lateness(rig))})`;
      return `TP(${input}, ${timeLiteral(to - from)})`;
    }),
  );
  const hold = repeat === null && !isLate ? [] : [`signal ${name}_busy = TP(${name}_start, ${timeLiteral(busy)})`];
  return [`signal ${name}_start = ${start}`, ...hold, ...doors];
}

/** A signal that is on while a window lasts, counted from the first opening. */
interface On extends Window {
  readonly signal: string;
}

/** Null without a repeat time, and where a time would come out below zero. */
function byDelays({ name, trigger, repeat, windows, response, scan, rig }: Plan): string[] | null {
  if (repeat === null) return null;
  // The start is on until it sees its own hold-off: two responses, or one scan.
  const pulse = 2 * response + scan;
  const hold = repeat - 2 * pulse;
  const made: On[] = [];
  const runs: string[] = [];
  let isPossible = hold > 0;
  // A scan sees a moment at its own next one.
  const seen = (t: number): number => (scan > 0 ? Math.ceil(t / scan) * scan : t);
  const block = (signal: string, { from, to }: Window): string => {
    const own = { signal, from: seen(from), to: seen(to) };
    if (from === 0) {
      made.push(own);
      isPossible &&= to > pulse;
      return `TOF(${name}_start, ${timeLiteral(Math.max(0, to - pulse))})`;
    }
    const on = from - 2 * response;
    const off = to - 2 * response;
    const room = (x: On): number => Math.min(on - x.from, x.to - on, off - x.to);
    let best = made.reduce<On | null>((a, b) => (room(b) > (a ? room(a) : 0) ? b : a), null);
    // A little room, so that neither the on-delay is cut off nor the off-delay is nothing.
    if (!best || room(best) < Math.min(LEAST_ROOM, (to - from) / 4)) {
      const end = seen(Math.round((on + off) / 2 / 1000) * 1000);
      best = { signal: `${name}_run${runs.length === 0 ? '' : runs.length + 1}`, from: 0, to: end };
      runs.push(`signal ${best.signal} = TOF(${name}_start, ${timeLiteral(Math.max(0, end - pulse))})`);
      made.push(best);
      isPossible &&= end > pulse;
    }
    made.push(own);
    isPossible &&= on > best.from && off > best.to && best.to > on;
    return `TOF(TON(${best.signal}, ${timeLiteral(Math.max(0, on - best.from))}), ${timeLiteral(Math.max(0, off - best.to))})`;
  };
  const doors = [...windows]
    .sort((a, b) => a.list[0]!.from - b.list[0]!.from)
    .flatMap(({ door, list }) => doorStatements(rig, name, door, list, (window, signal) => block(signal, window)));
  if (!isPossible) return null;
  return [
    `signal ${name}_start = ${trigger} and not ${name}_busy`,
    `signal ${name}_busy = TOF(${name}_start, ${timeLiteral(hold)})`,
    ...runs,
    ...doors,
  ];
}

const LEAST_ROOM = 100_000;

/** Signal and drive of one door; several windows are parts, joined. */
function doorStatements(
  rig: Rig,
  name: string,
  door: string,
  windows: readonly Window[],
  block: (window: Window, signal: string) => string,
): string[] {
  const signal = `${name}_${door.replace(/\./g, '_')}`;
  const drive = `drive ${door} = ${signal}`;
  if (windows.length === 1) return [`signal ${signal} = ${block(windows[0]!, signal)}`, drive];
  const names = windows.map((_, i) => `${signal}_${i + 1}`);
  const parts = windows.map((window, i) => `signal ${names[i]} = ${block(window, names[i]!)}`);
  // A plain join of wires: the parts keep their times.
  const responds = rig.controller.style === 'response' ? ' responds 0 s' : '';
  return [...parts, `signal ${signal} = ${names.join(' or ')}${responds}`, drive];
}
