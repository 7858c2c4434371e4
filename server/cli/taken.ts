/** The caution in what is taken to a rig, or into a program that sets one up. */
import { caution } from '../core/report/caution';
import type { Io } from './io';

/** Text of an object, with the caution as its last property. */
export const taken = (value: object | null): string => `${JSON.stringify({ ...value, caution: caution() }, null, 2)}\n`;

/** Rows (CSV by RFC 4180, JSON lines, a list) have no place for words: whoever makes some gets the caution beside them. */
export const besideRows = (io: Io): void => io.err(`${caution()}\n`);
