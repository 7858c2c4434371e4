/** Constants of nature and of convention that the flow engine uses. SI units. */

/** Molar gas constant, J/(mol K): exact since the SI of 2019 (CODATA). */
export const GAS_CONSTANT = 8.314462618;

/** Standard atmosphere, Pa (exact by definition). */
export const ATMOSPHERE = 101_325;

/** Standard acceleration of free fall, m/s2 (exact by definition, CGPM 1901). */
export const GRAVITY = 9.80665;
