/** Metrics of two doors: their parameters, and their value where one of the doors never opens. */
import { type Course, openings } from '../../timing/course';
import { staysShut, type Measured, type Parameter } from '../metric';

export const TWO_DOORS: readonly Parameter[] = [
  { name: 'a', kind: 'door' },
  { name: 'b', kind: 'door' },
];

/** Why there is nothing to measure; null where both doors open. */
export function absentPair(course: Course, pair: readonly number[]): Measured | null {
  const idle = pair.find((door) => openings(course, door).length === 0);
  return idle === undefined ? null : { kind: 'absent', why: staysShut(course, idle) };
}
