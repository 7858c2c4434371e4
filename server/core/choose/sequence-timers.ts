/**
 * Timers for a wanted sequence: the text of signals and drives that bring about the windows of a `sequence`, response of the
 * elements made up for. Times count from the first opening, as in the sequence; a stroke that has begun is finished.
 *
 * - `NAME_start = TRIGGER and not NAME_busy`, `NAME_run = TP(NAME_start, last step)`, `NAME_busy = TOF(NAME_run, rest of the repeat)`
 * - a window from the start: `TP(NAME_start, length)`; a later one: `TP(TON(NAME_run, from), length)`, its on-delay shorter by the two
 *   responses (of the on-delay and of the run) by which it would come too late.
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

export function sequenceTimers(rig: Rig, sequence: Sequence): SequenceTimers {
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
  const name = prefixFor(rig, sequence.name);
  const doors = [...windows].flatMap(([door, list]) => doorStatements(rig, name, door, list, late));
  return { ok: true, statements: [...frame(name, trigger, last, hold), ...doors] };
}

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

function frame(name: string, trigger: string, last: number, hold: number | null): string[] {
  const run = `signal ${name}_run = TP(${name}_start, ${timeLiteral(last)})`;
  if (hold === null) return [`signal ${name}_start = R_TRIG(${trigger})`, run];
  return [
    `signal ${name}_start = ${trigger} and not ${name}_busy`,
    run,
    `signal ${name}_busy = TOF(${name}_run, ${timeLiteral(hold)})`,
  ];
}

function doorStatements(rig: Rig, name: string, door: number, windows: readonly Window[], late: number): string[] {
  const label = rig.doors[door]!.name;
  const pulses = windows.map(({ from, to }) => {
    const input = from === 0 ? `${name}_start` : `TON(${name}_run, ${timeLiteral(from - late)})`;
    return `TP(${input}, ${timeLiteral(to - from)})`;
  });
  const signal = `${name}_${label.replace(/\./g, '_')}`;
  if (pulses.length === 1) return [`signal ${signal} = ${pulses[0]}`, `drive ${label} = ${signal}`];
  const parts = pulses.map((pulse, i) => `signal ${signal}_${i + 1} = ${pulse}`);
  const joined = pulses.map((_, i) => `${signal}_${i + 1}`).join(' or ');
  // A plain join of wires: the pulses keep their times.
  const responds = rig.controller.style === 'response' ? ' responds 0 s' : '';
  return [...parts, `signal ${signal} = ${joined}${responds}`, `drive ${label} = ${signal}`];
}
