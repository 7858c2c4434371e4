/** Real roots of a cubic; needed by the cubic equations of state. Imports nothing. */

/** One Newton step towards a root; stays where the slope is zero or the step is not finite. */
const newton = (x: number, b: number, c: number, d: number): number => {
  const slope = (3 * x + 2 * b) * x + c;
  if (slope === 0) return x;
  const better = x - (((x + b) * x + c) * x + d) / slope;
  return Number.isFinite(better) ? better : x;
};

/**
 * Real roots of x³ + b x² + c x + d, ascending (one or three numbers, equal ones repeated). Viète's form where there are three,
 * Cardano's in the form that does not cancel where there is one; each root polished by two Newton steps.
 */
export function cubicRoots(b: number, c: number, d: number): number[] {
  const q = (b * b - 3 * c) / 9;
  const r = (2 * b * b * b - 9 * b * c + 27 * d) / 54;
  const polish = (x: number): number => newton(newton(x, b, c, d), b, c, d);
  // Three real roots (the discriminant is positive): Cardano's formula would go through complex numbers, the cosine form does not.
  if (r * r < q * q * q) {
    const angle = Math.acos(r / Math.sqrt(q * q * q)) / 3;
    const size = -2 * Math.sqrt(q);
    const third = (2 * Math.PI) / 3;
    return [0, third, -third].map((turn) => polish(size * Math.cos(angle + turn) - b / 3)).sort((x, y) => x - y);
  }
  // The sign of r is taken so that the two parts under the cube root add up and never cancel.
  const s = -Math.sign(r || 1) * Math.cbrt(Math.abs(r) + Math.sqrt(Math.max(0, r * r - q * q * q)));
  const root = polish(s + (s === 0 ? 0 : q / s) - b / 3);
  if (r * r > q * q * q) return [root];
  // Double root: the other two coincide at half the distance on the far side of the centre.
  const twin = polish(-(root + b) / 2);
  return [root, twin, twin].sort((x, y) => x - y);
}
