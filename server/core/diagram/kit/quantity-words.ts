/** A quantity of any dimension for people, also in the page. */
import type { DimensionName } from '../../units/dimensions';
import { formatSi } from '../../units/units';

/** @param value µs for times, SI units otherwise */
export function quantityWords(value: number, dimension: string): string {
  return formatSi(value, dimension as DimensionName);
}
