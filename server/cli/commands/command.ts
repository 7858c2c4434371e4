/** What every command of the command line is. */
import type { ParseArgsConfig } from 'node:util';
import { UsageError, type Io } from '../io';

export type Options = NonNullable<ParseArgsConfig['options']>;

/** Values that `parseArgs` gives for the options of a command. */
export type Values = Readonly<Record<string, string | boolean | readonly (string | boolean)[] | undefined>>;

export interface Command {
  readonly name: string;
  /** Words after the name, for the usage line. */
  readonly words: string;
  readonly summary: string;
  /** Lines that explain the options. */
  readonly help: readonly string[];
  readonly options: Options;
  /** The words that an option takes, by its name; those that the first word of the command may be, by an empty name. */
  readonly choices?: Readonly<Record<string, readonly string[]>>;
  /** Gives the exit code: 0 clean, 1 findings, 2 usage or file trouble. */
  run(io: Io, words: readonly string[], values: Values): number | Promise<number>;
}

/** Options that several commands share. */
export const LET_OPTION: Options = { let: { type: 'string', multiple: true }, 'stdin-filename': { type: 'string' } };
export const LET_HELP = [
  '--let NAME=VALUE        another value for a constant, for a what-if (may stand several times)',
];

export function stringOf(values: Values, name: string): string | undefined {
  const value = values[name];
  return typeof value === 'string' ? value : undefined;
}

export function stringsOf(values: Values, name: string): readonly string[] {
  const value = values[name];
  return Array.isArray(value) ? value.filter((v): v is string => typeof v === 'string') : [];
}

/** The largest count that an option takes where nothing less is wanted: what is more is a slip of the hand. */
const MOST_COUNT = 1e12;

/** A whole number from `least` to `most` that an option gives; `standard` where it is absent. */
export function countOf(values: Values, name: string, standard: number, least: number, most = MOST_COUNT): number {
  const text = stringOf(values, name);
  const value = text === undefined ? standard : /^\d+$/.test(text) ? Number(text) : NaN;
  if (Number.isInteger(value) && value >= least && value <= most) return value;
  const range = most === MOST_COUNT && !(value > most) ? `from ${least}` : `from ${least} to ${most}`;
  throw new UsageError(`--${name} wants a whole number ${range}, not ${text}.`);
}

export function inputOptions(values: Values): { lets: readonly string[]; stdinName?: string } {
  return { lets: stringsOf(values, 'let'), stdinName: stringOf(values, 'stdin-filename') };
}
