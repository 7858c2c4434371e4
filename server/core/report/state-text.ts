/** What stands in a chamber as text: the figure by which its medium is judged. */
import type { ChamberState } from '../flow/facts';
import { packedText } from '../flow/states';
import { formatAlike, formatSi } from '../units/units';

/** `3.2 bar`, or `-` for a medium without pressure. */
export const pressureText = (state: ChamberState): string =>
  state.pressure === null ? '-' : formatSi(state.pressure, 'pressure');

/** The figure by which a medium is judged, a liquid with its pressure. */
export function shown(state: ChamberState): string {
  if (state.level !== null) return `${formatSi(state.level, 'length')} (${pressureText(state)})`;
  return state.pressure === null ? packedText(state) : pressureText(state);
}

/** Two states of one chamber, in the same units. */
export function shownPair(low: ChamberState, high: ChamberState): readonly [string, string] {
  const pressure = formatAlike([low.pressure, high.pressure], 'pressure');
  const level = formatAlike([low.level, high.level], 'length');
  const text = (state: ChamberState): string => {
    if (state.pressure === null) return packedText(state);
    return state.level === null ? pressure(state.pressure) : `${level(state.level)} (${pressure(state.pressure)})`;
  };
  return [text(low), text(high)];
}
