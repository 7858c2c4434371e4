/** The caution that stands wherever a result could be built. One wording, used by README's test, build sheet, exports and preview. */
export const CAUTION =
  'Stored pressure and powered doors can injure and kill. This is a design aid, not a safety function and not a ' +
  'pressure-equipment calculation. Local codes and a licensed practitioner decide; interlocks that protect people belong in rated hardware.';
