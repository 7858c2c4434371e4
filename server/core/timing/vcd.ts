/** Traces as value change dumps, IEEE Std 1364-2005 clause 18 (four-state format), one microsecond a step. */
import type { Rig } from '../model/rig';
import { laneTrace } from './lanes';
import type { ExportLane, LaneChange } from './lanes';
import type { Trace } from './trace';

/** Identifier codes are made of the printable characters 33 to 126 (18.2.1). */
const FIRST_CODE = 33;
const CODES = 94;

function identifierCode(index: number): string {
  let code = '';
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
export function traceVcd(rig: Rig, trace: Trace): string {
  const { lanes, changes } = laneTrace(rig, trace);
  const header = [
    '$version Caisson $end',
    '$timescale 1 us $end',
    `$scope module ${scopeName(rig.name)} $end`,
    ...lanes.map((lane, i) => `$var wire 1 ${identifierCode(i)} ${reference(lane.name)} $end`),
    '$upscope $end',
    '$enddefinitions $end',
  ];
  return [...header, ...startValues(trace, lanes), ...changeLines(trace, changes), ''].join('\n');
}

function startValues(trace: Trace, lanes: readonly ExportLane[]): string[] {
  const values = lanes.map((lane, i) => `${lane.initial ? 1 : 0}${identifierCode(i)}`);
  return [`#${trace.start}`, '$dumpvars', ...values, '$end'];
}

function changeLines(trace: Trace, changes: readonly LaneChange[]): string[] {
  const lines: string[] = [];
  let t = trace.start;
  for (const change of changes) {
    if (change.t !== t) lines.push(`#${change.t}`);
    t = change.t;
    lines.push(`${change.value ? 1 : 0}${identifierCode(change.lane)}`);
  }
  if (trace.end > t) lines.push(`#${trace.end}`);
  return lines;
}
