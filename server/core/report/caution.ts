/** The caution that stands wherever a result could be built. One wording, used by README's test, build sheet, exports and preview. */
import { say } from '../words/say';

/** In the language of the program. */
export const caution = (): string =>
  [
    say`Stored pressure and powered doors can injure and kill.`,
    say`This is a design aid, not a safety function and not a pressure-equipment calculation.`,
    say`Local codes and a licensed practitioner decide; interlocks that protect people belong in rated hardware.`,
  ].join(' ');
