/**
 * Traces as text for other programs: comma-separated values and JSON. Seconds, exact. A trace may come in parts that follow each other
 * in time (`tracedParts`); its text is given in pieces, so that nobody need hold the whole.
 * Decimal text comes from whole numbers by cutting digits, never by dividing: `t / 1e6` would print 0.30000000000000004 for some times.
 */
import type { Rig } from '../model/rig';
import { lanesOfParts } from './lanes';
import type { Trace } from './trace';

/** Whole microseconds as seconds, in plain decimal notation and exact: `1750000` → `1.75`. */
export function exactSeconds(us: number): string {
  const sign = us < 0 ? '-' : '';
  const whole = Math.floor(Math.abs(us) / 1e6);
  const rest = (Math.abs(us) - whole * 1e6).toString().padStart(6, '0').replace(/0+$/, '');
  return `${sign}${whole}${rest === '' ? '' : `.${rest}`}`;
}

/** One line per edge, `t,name,value` under a heading line; names with separators in them are quoted (RFC 4180). */
export function* csvPieces(rig: Rig, parts: Iterable<Trace>): Generator<string, void, void> {
  yield 't,name,value\n';
  for (const { lanes, changes } of lanesOfParts(rig, parts))
    yield changes.map((c) => `${exactSeconds(c.t)},${quoted(lanes[c.lane]!.name)},${c.value ? 1 : 0}\n`).join('');
}

function quoted(name: string): string {
  return /[",\r\n]/.test(name) ? `"${name.replace(/"/g, '""')}"` : name;
}

/** `{"edges":[{"t":0.1,"name":"start","value":1}]}`, one edge a line; two edges of one name at one time are a pulse of no width. */
export function* jsonPieces(rig: Rig, parts: Iterable<Trace>): Generator<string, void, void> {
  let before = '{"edges":[';
  for (const { lanes, changes } of lanesOfParts(rig, parts)) {
    const rows = changes.map(
      (c) => `\n  {"t":${exactSeconds(c.t)},"name":${JSON.stringify(lanes[c.lane]!.name)},"value":${c.value ? 1 : 0}}`,
    );
    if (rows.length === 0) continue;
    yield `${before}${rows.join(',')}`;
    before = ',';
  }
  yield before === ',' ? '\n]}\n' : `${before}]}\n`;
}
