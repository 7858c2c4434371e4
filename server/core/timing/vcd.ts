/**
 * Traces as value change dumps, IEEE Std 1364-2005 clause 18 (four-state format), one microsecond a step. Written by hand and not by a
 * library: the format is a header and one line a change. Times in the file never go back, and each time line is followed by its changes.
 */
import type { Rig } from '../model/rig';
import { lanesOfParts } from './lanes';
import type { ExportLane, LaneChange } from './lanes';
import type { Trace } from './trace';

/** Identifier codes are made of the printable characters 33 to 126 (18.2.1). */
const FIRST_CODE = 33;
const CODES = 94;

function identifierCode(index: number): string {
  let code = '';
  // Numbers in base 94 without a zero digit: every code is used, the shortest first.
  for (let rest = index; rest >= 0; rest = Math.floor(rest / CODES) - 1)
    code = String.fromCharCode(FIRST_CODE + (rest % CODES)) + code;
  return code;
}

/** Characters that a dump cannot hold become `~` and their code point in hexadecimal. */
function printable(name: string): string {
  return Array.from(name, (c) => (/[!-~]/.test(c) ? c : `~${c.codePointAt(0)!.toString(16)}`)).join('');
}

/** A simple identifier as it is, any other name escaped: backslash before, white space (which follows anyway) after. */
function reference(name: string): string {
  return /^[A-Za-z_][A-Za-z0-9_$]*$/.test(name) ? name : `\\${printable(name)}`;
}

/** Scopes take simple names only, by custom: other characters become `_`. */
function scopeName(name: string): string {
  const simple = name.replace(/[^A-Za-z0-9_$]/g, '_');
  return /^[A-Za-z_]/.test(simple) ? simple : `_${simple}`;
}

/** The dump of a trace: switches, sensors, signals, doors (1 while not shut) and `DOOR.fully_open`, as wires of one module. */
export function* vcdPieces(rig: Rig, parts: Iterable<Trace>): Generator<string, void, void> {
  let at: { t: number; end: number } | null = null;
  for (const { lanes, changes, trace } of lanesOfParts(rig, parts)) {
    if (at === null) yield headOf(rig, trace, lanes);
    const lines: string[] = [];
    const t: number = changeLines(lines, at?.t ?? trace.start, changes);
    if (lines.length > 0) yield `${lines.join('\n')}\n`;
    at = { t, end: trace.end };
  }
  if (at !== null && at.end > at.t) yield `#${at.end}\n`;
}

function headOf(rig: Rig, trace: Trace, lanes: readonly ExportLane[]): string {
  const header = [
    '$version Caisson $end',
    '$timescale 1 us $end',
    `$scope module ${scopeName(rig.name)} $end`,
    ...lanes.map((lane, i) => `$var wire 1 ${identifierCode(i)} ${reference(lane.name)} $end`),
    '$upscope $end',
    '$enddefinitions $end',
  ];
  return [...header, ...startValues(trace, lanes), ''].join('\n');
}

function startValues(trace: Trace, lanes: readonly ExportLane[]): string[] {
  const values = lanes.map((lane, i) => `${lane.initial ? 1 : 0}${identifierCode(i)}`);
  return [`#${trace.start}`, '$dumpvars', ...values, '$end'];
}

/** Adds the lines of changes after a line for time `from`; gives the time of the last one. */
function changeLines(lines: string[], from: number, changes: readonly LaneChange[]): number {
  let t = from;
  for (const change of changes) {
    if (change.t !== t) lines.push(`#${change.t}`);
    t = change.t;
    lines.push(`${change.value ? 1 : 0}${identifierCode(change.lane)}`);
  }
  return t;
}
