/** Flow of a liquid through openings one behind the other. SI units. */

/** Pressure drop, Pa, below which flow is taken as proportional to it: a square root has no slope at rest. 0.01 mm of water. */
const CREEP = 0.1;

/**
 * Volume flow out of the first chamber, m3/s, through openings in series that lose `drop` in all, each Δp = ρ/2 (q/A)²; between them
 * pockets take up `growth`. Rises with `drop`; found by bisection and secant on the one unknown.
 */
export function rowFlow(drop: number, density: number, areas: readonly number[], growth: readonly number[]): number {
  const loss = (q: number): number => {
    let sum = 0;
    let through = q;
    for (let k = 0; k < areas.length; k++) {
      // Below this flow the loss is taken as linear in it, as in `nozzle.ts`.
      const creep = areas[k]! * Math.sqrt((2 * CREEP) / density);
      sum += (density / 2) * ((through * Math.max(Math.abs(through), creep)) / (areas[k]! * areas[k]!));
      through -= growth[k]!;
    }
    return sum - drop;
  };
  const still = growth.every((g) => g === 0);
  if (still) return seriesFlow(drop, density, areas);
  let size =
    Math.max(...areas) * Math.sqrt((2 * Math.abs(drop)) / density) +
    growth.reduce((a, g) => a + Math.abs(g), 0) +
    1e-12;
  // Bracketed: the loss rises with q, from below to above what is wanted.
  while (loss(size) < 0) size *= 2;
  let [a, b] = [-size, size];
  while (loss(a) > 0) a *= 2;
  let [fa, fb] = [loss(a), loss(b)];
  for (let k = 0; k < 100 && b - a > 1e-13 * size; k++) {
    const q = k % 3 === 2 ? 0.5 * (a + b) : (a * fb - b * fa) / (fb - fa);
    const f = loss(q);
    // Illinois rule: halving the value kept at the other end stops the secant from moving one end only.
    if (f > 0) [b, fb, fa] = [q, f, fa / 2];
    else [a, fa, fb] = [q, f, fb / 2];
  }
  return 0.5 * (a + b);
}

/** The same with pockets that stand still, in closed form: one opening with 1/A² = Σ 1/Aᵢ². */
export function seriesFlow(drop: number, density: number, areas: readonly number[]): number {
  let square = 0;
  for (const a of areas) square += 1 / (a * a);
  const size = Math.abs(drop);
  const q = Math.sqrt((2 * Math.max(size, CREEP)) / density / square);
  return Math.sign(drop) * (size < CREEP ? (q * size) / CREEP : q);
}
