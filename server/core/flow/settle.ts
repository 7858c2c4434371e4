/**
 * Equalising: what a group of connected cells does when its volume changes or a cell joins. They share a pressure, not a density or a
 * temperature. Each medium has its own way (an ideal gas without heat exchange: mixing.ts); all keep the mass of the group to the last bit they can (what rounding leaves over goes to the group's largest cell).
 */
import type { Contents, Settled } from './contents';
import type { Group } from './program';
import { Mixer } from './mixing';
import type { GasLaw, Law, LiquidLaw } from './media/law';
import { liquidDensity, liquidPressure } from './media/law';
import { GRAVITY } from './media/constants';
import type { Vessel } from './vessel';
import { fullMass, liquidMassAt, overfill } from './vessel';

/** Settles one group in place. */
export type Settle = (contents: Contents, group: Group) => Settled;

const NOTHING: Settled = { work: 0, pressure: 0 };

/** Work `work` over the change of volume of a group; `pressure` where its sum did not change. */
const settled = (group: Group, work: number, pressure: number): Settled => ({
  work,
  pressure: group.after === group.before ? pressure : -work / (group.after - group.before),
});

/**
 * The way a medium settles in these vessels. A real gas that is not isothermal has none: it is followed through openings that are as
 * good as wide (engine.ts).
 */
export function settlerOf(law: Law, vessels: readonly Vessel[]): Settle {
  if (law.phase === 'packed') return (contents, group) => (spread(contents.mass, group), NOTHING);
  if (law.phase === 'liquid') {
    return (contents, group) => {
      const work = settleLiquid(law, vessels, contents, group);
      return settled(group, work, vessels[group.cells[0]!]?.surface ?? 0);
    };
  }
  if (law.exponent !== 1) {
    const mixer = new Mixer(law.gasConstant, law.exponent);
    return (contents, group) => mixer.settle(contents, group);
  }
  // One temperature everywhere: equal pressure is equal density, and no equation has to be solved.
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
  // The first cell takes what is left over, or the largest where the first has no volume: sums stay exact.
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

/** Isothermal at one temperature: one density, and the law's own work. */
function settleEven(law: GasLaw, contents: Contents, group: Group): Settled {
  const sum = spread(contents.mass, group);
  const { before, after } = group;
  if (before <= 0 || after <= 0 || sum <= 0) return NOTHING;
  if (before === after) return { work: 0, pressure: law.pressure(sum / after, law.temperature) };
  return settled(group, sum * law.work(sum / before, law.temperature, sum / after), 0);
}

/** Places and weights of Gauss and Legendre for the mean over an even movement. */
const GAUSS = [
  [0.04691007703066802, 0.11846344252809454],
  [0.23076534494715845, 0.23931433524968324],
  [0.5, 0.28444444444444444],
  [0.7692346550528415, 0.23931433524968324],
  [0.9530899229693319, 0.11846344252809454],
] as const;

/** Isothermal with cells at different temperatures: one pressure, each cell at the temperature of its own walls. */
function settleUneven(law: GasLaw, contents: Contents, group: Group): Settled {
  const { mass, temperature } = contents;
  const { cells, volumesBefore, volumes, after, before } = group;
  const sum = total(mass, cells);
  if (after <= 0 || sum <= 0) return NOTHING;
  const pressure = commonPressure(law, temperature, cells, volumes, sum);
  share(mass, cells, sum, (k) => law.density(pressure, temperature[cells[k]!]!) * volumes[k]!);
  if (before <= 0 || volumes.every((v, k) => v === volumesBefore[k])) return { work: 0, pressure };
  // Work is the mean of the pressure over the change of volume: five Gauss points are exact to degree nine, far beyond need.
  const mean = GAUSS.reduce((at, [place, weight]) => {
    const between = volumes.map((v, k) => volumesBefore[k]! + place * (v - volumesBefore[k]!));
    return at + weight * commonPressure(law, temperature, cells, between, sum);
  }, 0);
  return { work: -mean * (after - before), pressure: mean };
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
    // For the ideal gas held is proportional to p, so one round is exact; a real gas contracts by its deviation from that.
    const next = (p * sum) / held;
    if (Math.abs(next - p) <= 1e-13 * p) return next;
    p = next;
  }
  return p;
}

/**
 * Liquid: pockets in connection with a chamber fill first (they are at the lowest point of the line), then the chambers share the
 * rest so that the pressure at the datum is one. Pockets alone: what does not fit is a hydraulic lock.
 */
function settleLiquid(law: LiquidLaw, vessels: readonly Vessel[], contents: Contents, group: Group): number {
  const { mass } = contents;
  const { cells, volumes } = group;
  const sum = total(mass, cells);
  // Chambers come first in a group: a pocket in front means that there is none.
  if (cells[0]! >= vessels.length) {
    // All pockets, no chamber: nothing yields but the liquid itself.
    spread(mass, group);
    return lockWork(law, group, sum, lowest(law, vessels));
  }
  if (sum <= 0) return 0;
  let pocket = 0;
  for (let k = 0; k < cells.length; k++) if (cells[k]! >= vessels.length) pocket += volumes[k]!;
  // Several chambers at one datum need an equation to be solved; one chamber, the usual case, a short iteration.
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
  // The state before the movement, for the work: the pockets were larger or smaller by the change.
  const first = pocketFill(law, vessel, sum, Math.max(0, pocket - (after - before)));
  return evenWork(first.pressure + headOf(law, vessel), pressure + headOf(law, vessel), after - before);
}

/** What pockets take from the chamber they are open to, at its pressure, which that hardly changes; and this pressure, Pa. */
function pocketFill(law: LiquidLaw, vessel: Vessel, sum: number, pocket: number): { fill: number; pressure: number } {
  let pressure = vessel.surface;
  let fill = Math.min(sum, densityAt(law, pressure) * pocket);
  // The pockets' fill hardly changes the pressure that fills them, so the fixed-point iteration contracts by their share of the whole.
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

/** Several chambers joined by their pockets: one pressure at the datum. */
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

/** Pressure at the datum less that at the bottom of the vessel, Pa. */
export const headOf = (law: LiquidLaw, vessel: Vessel): number => law.referenceDensity * GRAVITY * vessel.elevation;

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
  // At the lowest free surface every chamber is empty; from there on what is held only rises with the pressure.
  const a = Math.min(...chambers.map((cell) => vessels[cell]!.surface + headOf(law, vessels[cell]!)));
  if (held(a) >= sum) return a;
  return bracketed(held, sum, a);
}

/** Pressure at the bottom of a vessel, Pa, as `pressureOf` has it. */
function bottomPressure(law: LiquidLaw, vessel: Vessel, mass: number): number {
  const full = fullMass(law, vessel);
  const free = (Math.min(mass, full) * GRAVITY) / vessel.floorArea;
  return vessel.surface + free + (mass > full ? overfill(law, vessel, mass) : 0);
}

/** Pressure at the datum of chambers that hold `sum` kg with `pocket` m3 of pockets open to them, Pa. */
export function spacePressure(
  law: LiquidLaw,
  vessels: readonly Vessel[],
  chambers: readonly number[],
  pocket: number,
  sum: number,
): number {
  if (chambers.length > 1) return datumPressure(law, vessels, chambers, pocket, sum);
  const vessel = vessels[chambers[0]!]!;
  return pocketFill(law, vessel, sum, pocket).pressure + headOf(law, vessel);
}

/** Illinois rule for held(p) = sum, held rising, held(low) below; every third step halves, for the kinks of a brimming vessel. */
function bracketed(held: (p: number) => number, sum: number, low: number): number {
  let a = low;
  let fa = held(a) - sum;
  let width = 1e4;
  let b = a + width;
  let fb = held(b) - sum;
  // Up in growing steps until enough is held: levels need kilopascals, a brimming vessel gigapascals.
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

/** Pockets alone are at the lowest point of the line; the head of it takes their pressure to the datum. */
function lockWork(law: LiquidLaw, group: Group, sum: number, head: number): number {
  if (group.after <= 0 || group.before <= 0 || sum <= 0) return 0;
  const before = Math.max(0, liquidPressure(law, sum / group.before));
  const after = Math.max(0, liquidPressure(law, sum / group.after));
  return evenWork(before + head, after + head, group.after - group.before);
}

const lowest = (law: LiquidLaw, vessels: readonly Vessel[]): number =>
  vessels.reduce((low, vessel) => Math.min(low, headOf(law, vessel)), Infinity);
