/** JSON of what is taken to a rig, or into a program that sets one up. */
import { CAUTION } from '../core/report/caution';

/** Text of an object, with the caution as its last property; a list has no place for it. */
export const taken = (value: object | null): string =>
  `${JSON.stringify(Array.isArray(value) ? value : { ...value, caution: CAUTION }, null, 2)}\n`;
