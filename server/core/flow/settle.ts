/**
 * Equalising: what a group of connected cells does when its volume changes or a cell joins. Each medium has its own way; all keep
 * the mass of the group to the last bit they can (what rounding leaves over goes to the group's largest cell).
 */
import type { Group } from './program';
import type { GasLaw, Law, LiquidLaw } from './media/law';
import { liquidDensity, liquidPressure } from './media/law';
import { GRAVITY } from './media/constants';
import type { Vessel } from './vessel';
import { fullMass, liquidMassAt } from './vessel';

/** What the cells hold. */
export interface Contents {
  /** kg */
  readonly mass: Float64Array;
  /** K */
  readonly temperature: Float64Array;
}

/** Settles one group in place and gives the work done on it by its moving doors, J. */
export type Settle = (contents: Contents, group: Group) => number;

/** The way a medium settles in these vessels. */
export function settlerOf(law: Law, vessels: readonly Vessel[]): Settle {
  if (law.phase === 'packed') return (contents, group) => (spread(contents.mass, group), 0);
  if (law.phase === 'liquid') return (contents, group) => settleLiquid(law, vessels, contents, group);
  if (law.exponent !== 1) return (contents, group) => settleGas(law, contents, group);
  const even = vessels.every((vessel) => vessel.temperature === law.temperature);
  if (even) return (contents, group) => settleEven(law, contents, group);
  return (contents, group) => settleUneven(law, contents, group);
}

function total(mass: Float64Array, cells: readonly number[]): number {
  let sum = 0;
  for (let k = 0; k < cells.length; k++) sum += mass[cells[k]!]!;
  return sum;
}

/** Gives each cell its share and the group's first cell (a chamber where there is one) what is left. */
function share(mass: Float64Array, cells: readonly number[], sum: number, part: (k: number) => number): void {
  let left = sum;
  for (let k = 1; k < cells.length; k++) {
    const m = Math.max(0, Math.min(part(k), left));
    mass[cells[k]!] = m;
    left -= m;
  }
  mass[cells[0]!] = left;
}

/** The same density everywhere. A group squeezed to no volume keeps its masses where they are. */
function spread(mass: Float64Array, group: Group): number {
  const { cells, after, volumes } = group;
  const sum = total(mass, cells);
  if (after > 0 && cells.length > 1) {
    const density = sum / after;
    let left = sum;
    for (let k = 1; k < cells.length; k++) {
      const m = density * volumes[k]!;
      mass[cells[k]!] = m;
      left -= m;
    }
    mass[cells[0]!] = volumes[0] === 0 || left < 0 ? 0 : left;
    if (volumes[0] === 0 || left < 0) mass[cells[largest(volumes)]!]! += left;
  }
  return sum;
}

function largest(volumes: readonly number[]): number {
  let best = 0;
  for (let k = 1; k < volumes.length; k++) if (volumes[k]! > volumes[best]!) best = k;
  return best;
}

function settleEven(law: GasLaw, contents: Contents, group: Group): number {
  const sum = spread(contents.mass, group);
  if (group.before === group.after || group.before <= 0 || group.after <= 0 || sum <= 0) return 0;
  return sum * law.work(sum / group.before, law.temperature, sum / group.after);
}

/** Isothermal with chambers at different temperatures: one pressure, each cell at its own temperature. */
function settleUneven(law: GasLaw, contents: Contents, group: Group): number {
  const { mass, temperature } = contents;
  const { cells, volumes, after } = group;
  const sum = total(mass, cells);
  if (after <= 0 || sum <= 0) return 0;
  const before = commonPressure(law, temperature, cells, volumes, sum);
  share(mass, cells, sum, (k) => law.density(before, temperature[cells[k]!]!) * volumes[k]!);
  if (group.before === group.after || group.before <= 0) return 0;
  // Work of the moving doors, which sit at the temperature of the medium.
  return sum * law.work(sum / group.before, law.temperature, sum / after);
}

/** Pressure at which the cells hold `sum` in all: p ← p · sum / held(p), exact at once for the ideal gas. */
function commonPressure(
  law: GasLaw,
  temperature: Float64Array,
  cells: readonly number[],
  volumes: readonly number[],
  sum: number,
): number {
  const volume = volumes.reduce((a, b) => a + b, 0);
  let p = law.pressure(sum / volume, temperature[cells[0]!]!);
  for (let round = 0; round < 50; round++) {
    const held = cells.reduce((held, cell, k) => held + law.density(p, temperature[cell]!) * volumes[k]!, 0);
    const next = (p * sum) / held;
    if (Math.abs(next - p) <= 1e-13 * p) return next;
    p = next;
  }
  return p;
}

/** Adiabatic or polytropic: cells that joined mix at their old volume (energy kept), then the volume changes evenly. */
function settleGas(law: GasLaw, contents: Contents, group: Group): number {
  const { mass, temperature } = contents;
  const { cells, before, after } = group;
  const sum = total(mass, cells);
  if (sum <= 0 || before <= 0 || after <= 0) {
    spread(mass, group);
    return 0;
  }
  let mixed = temperature[cells[0]!]!;
  if (cells.some((cell) => temperature[cell] !== mixed)) {
    // Cells join at constant volume, so each brings the energy it had at its own density.
    const joined = before === after;
    let energy = 0;
    cells.forEach((cell, k) => {
      const own = joined && group.volumes[k]! > 0 ? mass[cell]! / group.volumes[k]! : sum / before;
      energy += mass[cell]! * law.energy(own, temperature[cell]!);
    });
    mixed = law.temperatureOf(sum / before, energy / sum);
  }
  spread(mass, group);
  const work = before === after ? 0 : sum * law.work(sum / before, mixed, sum / after);
  const final = before === after ? mixed : law.temperatureAfter(sum / before, mixed, sum / after);
  for (const cell of cells) temperature[cell] = final;
  return work;
}

/**
 * Liquid: pockets in connection with a chamber fill first (they lie at the lowest place of the line), then the chambers share the
 * rest so that the pressure at the datum is one. Pockets alone: what does not fit is a hydraulic lock.
 */
function settleLiquid(law: LiquidLaw, vessels: readonly Vessel[], contents: Contents, group: Group): number {
  const { mass } = contents;
  const { cells, volumes } = group;
  const sum = total(mass, cells);
  if (cells[0]! >= vessels.length) {
    spread(mass, group);
    return lockWork(law, group, sum, lowest(law, vessels));
  }
  if (sum <= 0) return 0;
  let pocket = 0;
  for (let k = 0; k < cells.length; k++) if (cells[k]! >= vessels.length) pocket += volumes[k]!;
  const several = cells.length > 1 && cells[1]! < vessels.length;
  return several
    ? settleChambers(law, vessels, mass, group, sum, pocket)
    : settleChamber(law, vessels[cells[0]!]!, mass, group, sum, pocket);
}

/** Density with the cheap exponential of a small argument. */
const densityAt = (law: LiquidLaw, pressure: number): number => liquidDensity(law, Math.max(0, pressure));

/** One chamber with its pockets, nearly always. */
function settleChamber(
  law: LiquidLaw,
  vessel: Vessel,
  mass: Float64Array,
  { cells, volumes, after, before }: Group,
  sum: number,
  pocket: number,
): number {
  const { fill, pressure } = pocketFill(law, vessel, sum, pocket);
  share(mass, cells, sum, (k) => (pocket > 0 ? (fill * volumes[k]!) / pocket : 0));
  if (after === before) return 0;
  const first = pocketFill(law, vessel, sum, Math.max(0, pocket - (after - before)));
  return evenWork(first.pressure + headOf(law, vessel), pressure + headOf(law, vessel), after - before);
}

/** What pockets take from the chamber they are open to, at its pressure, which that hardly changes; and this pressure, Pa. */
function pocketFill(law: LiquidLaw, vessel: Vessel, sum: number, pocket: number): { fill: number; pressure: number } {
  let pressure = vessel.surface;
  let fill = Math.min(sum, densityAt(law, pressure) * pocket);
  for (let round = 0; round < 60 && fill < sum; round++) {
    pressure = bottomPressure(law, vessel, sum - fill);
    const next = Math.min(sum, densityAt(law, pressure) * pocket);
    const done = Math.abs(next - fill) <= 1e-14 * sum;
    fill = next;
    if (done) break;
  }
  return { fill, pressure };
}

/**
 * Work of doors that change the volume while the pressure goes evenly from one value to the other, as that under a free surface
 * does, J. Pressures are those at the datum: a pocket that is filled low and emptied into a chamber high up has done the lifting.
 */
const evenWork = (from: number, to: number, change: number): number => -0.5 * (from + to) * change;

function settleChambers(
  law: LiquidLaw,
  vessels: readonly Vessel[],
  mass: Float64Array,
  { cells, volumes, after, before }: Group,
  sum: number,
  pocket: number,
): number {
  const chambers = cells.filter((cell) => cell < vessels.length);
  const datum = datumPressure(law, vessels, chambers, pocket, sum);
  const low = Math.min(...chambers.map((cell) => vessels[cell]!.elevation));
  const fill = Math.min(sum, pocketMass(law, datum, low, pocket));
  share(mass, cells, sum, (k) => {
    const cell = cells[k]!;
    if (cell >= vessels.length) return pocket > 0 ? (fill * volumes[k]!) / pocket : 0;
    return liquidMassAt(law, vessels[cell]!, datum - headOf(law, vessels[cell]!));
  });
  if (after === before) return 0;
  const first = datumPressure(law, vessels, chambers, Math.max(0, pocket - (after - before)), sum);
  return evenWork(first, datum, after - before);
}

const headOf = (law: LiquidLaw, vessel: Vessel): number => law.referenceDensity * GRAVITY * vessel.elevation;

const pocketMass = (law: LiquidLaw, datum: number, low: number, volume: number): number =>
  liquidDensity(law, Math.max(0, datum - law.referenceDensity * GRAVITY * low)) * volume;

/** Pressure at the datum at which chambers and pockets hold `sum`; where there is too little, that of the lowest empty chamber. */
function datumPressure(
  law: LiquidLaw,
  vessels: readonly Vessel[],
  chambers: readonly number[],
  pocket: number,
  sum: number,
): number {
  const low = Math.min(...chambers.map((cell) => vessels[cell]!.elevation));
  const held = (p: number): number => {
    let mass = pocketMass(law, p, low, pocket);
    for (const cell of chambers) mass += liquidMassAt(law, vessels[cell]!, p - headOf(law, vessels[cell]!));
    return mass;
  };
  const a = Math.min(...chambers.map((cell) => vessels[cell]!.surface + headOf(law, vessels[cell]!)));
  if (held(a) >= sum) return a;
  return bracketed(held, sum, a);
}

function bottomPressure(law: LiquidLaw, vessel: Vessel, mass: number): number {
  const full = fullMass(law, vessel);
  const free = (Math.min(mass, full) * GRAVITY) / vessel.floorArea;
  return vessel.surface + free + (mass > full ? law.bulkModulus * Math.log(mass / full) : 0);
}

/** Illinois rule for held(p) = sum, held rising, held(low) below; every third step halves, for the kinks of a brimming vessel. */
function bracketed(held: (p: number) => number, sum: number, low: number): number {
  let a = low;
  let fa = held(a) - sum;
  let width = 1e4;
  let b = a + width;
  let fb = held(b) - sum;
  while (fb < 0 && width < 1e13) {
    a = b;
    fa = fb;
    width *= 4;
    b += width;
    fb = held(b) - sum;
  }
  for (let k = 0; k < 200; k++) {
    const p = k % 3 === 2 ? 0.5 * (a + b) : (a * fb - b * fa) / (fb - fa);
    const f = held(p) - sum;
    if (Math.abs(f) <= 1e-13 * sum || Math.abs(b - a) <= 1e-9 * Math.abs(b)) return p;
    if (f > 0) {
      b = p;
      fb = f;
      fa /= 2;
    } else {
      a = p;
      fa = f;
      fb /= 2;
    }
  }
  return 0.5 * (a + b);
}

/** Pockets alone lie at the lowest place of the line; the head of it takes their pressure to the datum. */
function lockWork(law: LiquidLaw, group: Group, sum: number, head: number): number {
  if (group.after <= 0 || group.before <= 0 || sum <= 0) return 0;
  const before = Math.max(0, liquidPressure(law, sum / group.before));
  const after = Math.max(0, liquidPressure(law, sum / group.after));
  return evenWork(before + head, after + head, group.after - group.before);
}

const lowest = (law: LiquidLaw, vessels: readonly Vessel[]): number =>
  vessels.reduce((low, vessel) => Math.min(low, headOf(law, vessel)), Infinity);
