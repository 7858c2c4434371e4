/** Cells of a log as numbers: times, openings, readings and states. NaN: not taken. */
import type { Heading } from './headings';
import { say } from '../words/say';

/** What loggers write where there is no reading. */
const NOT_TAKEN = new Set([
  '',
  'nan',
  'n/a',
  'na',
  '#n/a',
  'null',
  'none',
  '-',
  '--',
  '---',
  'err',
  'error',
  '#value!',
]);

const DOOR_WORDS: ReadonlyMap<string, number> = new Map(
  Object.entries({ shut: 0, closed: 0, off: 0, false: 0, moving: 0.5, open: 1, opened: 1, on: 1, true: 1 }),
);
const STATE_WORDS: ReadonlyMap<string, number> = new Map(
  Object.entries({ off: 0, false: 0, low: 0, no: 0, shut: 0, closed: 0, on: 1, true: 1, high: 1, yes: 1, open: 1 }),
);

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$/;

/** The number of a cell, with a decimal point or comma; NaN where it was not taken, a sentence where it is none. */
export function cellValue(column: Heading, cell: string): number | string {
  if (column.kind === 'other') return NaN;
  // The usual cell is a plain number: nothing else is looked at then.
  const digits = cell.replace(',', '.');
  if (NUMBER.test(digits)) return column.offset + column.factor * Number(digits);
  const word = cell.toLowerCase();
  if (NOT_TAKEN.has(word)) return NaN;
  const state = column.kind === 'door' ? DOOR_WORDS.get(word) : column.kind === 'state' ? STATE_WORDS.get(word) : null;
  if (typeof state === 'number') return state;
  return say`\`${cell.slice(0, 40)}\` in the column \`${column.heading}\` is not a ${column.kind === 'reading' ? say`number` : say`number or a state`}.`;
}

/** Decimals that a cell shows. */
export function decimalsOf(cell: string): number {
  const point = Math.max(cell.lastIndexOf('.'), cell.lastIndexOf(','));
  if (point < 0 || /[eE]/.test(cell)) return 0;
  return cell.length - point - 1;
}

const CLOCK = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?$/;
const DATE =
  /^(\d{4})-(\d{2})-(\d{2})(?:[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?)?\s*(Z|[-+]\d{2}:?\d{2})?$/i;

/** A clock time (from midnight) or an ISO 8601 date and time (from 1970, UTC where no offset is stated) in µs; null where it is neither. */
export function clockTime(cell: string): { readonly t: number; readonly isDate: boolean } | null {
  const clock = CLOCK.exec(cell);
  if (clock) {
    const [, h, m, s, part] = clock;
    if (Number(h) > 24 || Number(m) > 59 || Number(s ?? 0) > 60) return null;
    return { t: (Number(h) * 3600 + Number(m) * 60 + Number(s ?? 0)) * 1e6 + fraction(part), isDate: false };
  }
  const date = DATE.exec(cell);
  if (!date) return null;
  const [, y, mo, d, h, m, s, part, zone] = date;
  const days = daysFrom1970(Number(y), Number(mo), Number(d));
  if (days === null || Number(h ?? 0) > 24 || Number(m ?? 0) > 59) return null;
  const seconds = days * 86_400 + Number(h ?? 0) * 3600 + Number(m ?? 0) * 60 + Number(s ?? 0) - zoneSeconds(zone);
  return { t: seconds * 1e6 + fraction(part), isDate: true };
}

const fraction = (digits: string | undefined): number =>
  digits === undefined ? 0 : Math.round(Number(`0.${digits}`) * 1e6);

function zoneSeconds(zone: string | undefined): number {
  if (zone === undefined || zone.toUpperCase() === 'Z') return 0;
  const digits = zone.slice(1).replace(':', '');
  return (zone.startsWith('-') ? -1 : 1) * (Number(digits.slice(0, 2)) * 3600 + Number(digits.slice(2)) * 60);
}

/** Days of the Gregorian calendar; null for a day that does not exist. */
function daysFrom1970(year: number, month: number, day: number): number | null {
  const leap = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
  const lengths = [31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
  if (month < 1 || month > 12 || day < 1 || day > lengths[month - 1]!) return null;
  const before = (y: number): number =>
    365 * (y - 1970) + Math.floor((y - 1969) / 4) - Math.floor((y - 1901) / 100) + Math.floor((y - 1601) / 400);
  return before(year) + lengths.slice(0, month - 1).reduce((a, b) => a + b, 0) + day - 1;
}

/** The date and time (ISO 8601, UTC, to the millisecond) of `t` µs after 1970. */
export function dateText(t: number): string {
  const ms = Math.round(t / 1000);
  const days = Math.floor(ms / 86_400_000);
  let year = 1970 + Math.floor(days / 365.2425);
  while (daysFrom1970(year + 1, 1, 1)! <= days) year++;
  while (daysFrom1970(year, 1, 1)! > days) year--;
  let month = 12;
  while (daysFrom1970(year, month, 1)! > days) month--;
  const rest = ms - days * 86_400_000;
  const two = (n: number): string => String(n).padStart(2, '0');
  const [hour, minute, second] = [Math.floor(rest / 3_600_000), Math.floor(rest / 60_000) % 60, (rest / 1000) % 60];
  const date = `${year}-${two(month)}-${two(days - daysFrom1970(year, month, 1)! + 1)}`;
  return `${date}T${two(hour)}:${two(minute)}:${second.toFixed(3).padStart(6, '0')}`;
}
