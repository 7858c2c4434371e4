/** How far apart repairs set doors that must not be open together: 100 ms. Our own choice, no source; the text can be changed after. */
export const CLEARANCE = 100_000;
