/** The integration method of `sdirk.ts` in figures: ESDIRK4(3)6L[2]SA, the implicit half of ARK4(3)6L[2]SA (Kennedy & Carpenter 2003). */

// The tableau: every stage has the same diagonal γ, so that one factored matrix serves all implicit stages of a step. The last row of A
// is also the row of weights (stiffly accurate): the last stage is the new value.
/** The diagonal. */
export const GAMMA = 0.25;
/** Weights of the slopes of earlier stages, without the diagonal. */
export const A = [
  [],
  [1 / 4],
  [8611 / 62500, -1743 / 31250],
  [5012029 / 34652500, -654441 / 2922500, 174375 / 388108],
  [15267082809 / 155376265600, -71443401 / 120774400, 730878875 / 902184768, 2285395 / 8070912],
  [82889 / 524892, 0, 15625 / 83664, 69875 / 102672, -2260 / 8211],
] as const;
/** Moment of each stage, as a part of the step. */
export const C = [0, 1 / 2, 83 / 250, 31 / 50, 17 / 20, 1] as const;
/** Fourth minus third order. */
export const E = [
  31666707 / 9881966720,
  0,
  -256875 / 105007616,
  -2768025 / 128864768,
  169839 / 3864644,
  -5247 / 225920,
] as const;
/** Slopes through which the slope of a stage is extrapolated, at most. */
const THROUGH = 3;
/** Where Newton's method begins in each stage, as weights of the slopes before it: the polynomial through the last of them. */
export const GUESS = C.map((c, s) => {
  const first = Math.max(0, s - THROUGH);
  const others = C.slice(first, s);
  return C.slice(0, s).map((at, j) =>
    j < first
      ? 0
      : others.reduce((weight, other) => (other === at ? weight : (weight * (c - other)) / (at - other)), 1),
  );
});
