/**
 * Orifice level for liquids: the flow between two chambers that a row of open doors joins, by head, surface pressure and area, integrated
 * over time. A liquid hardly gives way, so everything else is settled at once as at the balance level: pockets open to one chamber only
 * (they fill and empty as the doors move), chambers that are full to the brim, and rows that branch to a third chamber.
 */
import type { FlowModel } from './balance';
import type { CellNetwork } from './cells';
import { groupLabels, pocketVolume } from './cells';
import { DormandPrince } from './dormand-prince';
import { lineMass } from './lines';
import type { LiquidLaw } from './media/law';
import { GRAVITY } from './media/constants';
import { liquidSpeed } from './nozzle';
import type { CutOff } from './orifice';
import type { DoorPath, StrokePattern } from './pattern';
import { onTime } from './pattern';
import { notShutAt, positionAt, positionBefore } from '../model/motion';
import { momentsOf } from './program';
import type { Contents } from './settle';
import { settlerOf } from './settle';
import { fullMass, pressureOf } from './vessel';

export interface LiquidOrificeModel extends FlowModel {
  readonly law: LiquidLaw;
  /** Effective area of each door when fully open, m2. */
  readonly areas: Float64Array;
}

/** Pressure drop, Pa, below which flow is taken as proportional to it: a square root has no slope at rest. 0.01 mm of water. */
const CREEP = 0.1;

/** Doors in a row between two chambers, with the pocket of each behind it. */
interface Row {
  readonly from: number;
  readonly to: number;
  readonly doors: readonly number[];
}

export class LiquidOrifice {
  private readonly kernel = new DormandPrince(2);
  private readonly settle;
  evaluations = 0;

  constructor(
    readonly model: LiquidOrificeModel,
    readonly contents: Contents,
    private readonly relative = 1e-7,
  ) {
    this.settle = settlerOf(model.law, model.vessels);
  }

  /** Runs one stroke in place; `each` sees the time (µs) after every stretch. False where it could not be followed to its end. */
  stroke(pattern: StrokePattern, each: (t: number) => void = () => {}): boolean {
    const moments = momentsOf(pattern);
    for (let k = 1; k < moments.length; k++) {
      const [start, end] = [moments[k - 1]!, moments[k]!];
      if (!this.stretch(pattern, start, end)) return false;
      each(end);
    }
    return true;
  }

  private stretch(pattern: StrokePattern, start: number, end: number): boolean {
    const { network } = this.model;
    const notShut = pattern.doors.map((path) => notShutAt(path, start));
    const labels = groupLabels(network, notShut);
    const row = flowingRow(network, labels, notShut);
    const inflow = this.inflows(pattern, start, end);
    const free = row !== null && this.isFree(row.from) && this.isFree(row.to);
    if (!free) this.addInflows(inflow, [...inflow.keys()]);
    else if (!this.flow(pattern, row, start, end, inflow)) return false;
    const at = pattern.doors.map((path) => positionBefore(path, end));
    for (const cells of groupsOf(labels)) {
      if (free && cells.includes(row.from)) continue;
      const volumes = cells.map((cell) => volumeOf(network, cell, at));
      const after = volumes.reduce((a, v) => a + v, 0);
      const closed = cells.every((cell) => cell >= network.chambers);
      this.settle(this.contents, { cells, before: after, after, volumes, closed });
    }
    return true;
  }

  /** Neither empty nor brimming, nor about to be: those change how it flows. */
  private isFree(chamber: number): boolean {
    const { law, vessels } = this.model;
    const mass = this.contents.mass[chamber]!;
    return mass >= 0 && mass < fullMass(law, vessels[chamber]!) * (1 - 1e-9);
  }

  private inflows(pattern: StrokePattern, start: number, end: number): Float64Array {
    const { lines, law, vessels, network } = this.model;
    const added = new Float64Array(network.chambers);
    lines.forEach((line, k) => {
      const vessel = vessels[line.chamber];
      if (vessel)
        added[line.chamber]! += lineMass(line, onTime(pattern.lines[k] ?? [], start, end), law, vessel, this.contents);
    });
    return added;
  }

  private addInflows(added: Float64Array, chambers: readonly number[]): void {
    for (const k of chambers) this.contents.mass[k]! += added[k]!;
  }

  /** Integrates the two chambers of a row over one stretch; their pockets stay full. */
  private flow(pattern: StrokePattern, row: Row, start: number, end: number, added: Float64Array): boolean {
    const { law, network, areas } = this.model;
    const seconds = (end - start) / 1e6;
    const density = law.referenceDensity;
    const from = row.doors.map((d) => positionAt(pattern.doors[d]!, start));
    const to = row.doors.map((d) => positionBefore(pattern.doors[d]!, end));
    const growth = row.doors.map((d, k) => ((to[k]! - from[k]!) * (network.open[d]! - network.shut[d]!)) / seconds);
    const area = (k: number, t: number): number =>
      areas[row.doors[k]!]! * (from[k]! + ((to[k]! - from[k]!) * t) / seconds);
    const { mass } = this.contents;
    // What the pockets lack or have too much of at the start of the stretch goes to the first chamber at once.
    row.doors.forEach((d, k) => {
      const cell = network.chambers + d;
      const wanted = density * pocketVolume(network, d, from[k]!);
      mass[row.from]! -= wanted - mass[cell]!;
      mass[cell] = wanted;
    });
    const y = Float64Array.of(mass[row.from]!, mass[row.to]!);
    const rates = [added[row.from]! / seconds, added[row.to]! / seconds];
    const grown = growth.reduce((a, g) => a + g, 0);
    const outcome = this.kernel.run(
      (t, state, into) => {
        this.evaluations++;
        const drop = this.datum(row.from, state[0]!) - this.datum(row.to, state[1]!);
        const q = rowFlow(
          drop,
          density,
          row.doors.map((_, k) => Math.max(area(k, t), 1e-12)),
          growth,
        );
        into[0] = rates[0]! - density * q;
        into[1] = rates[1]! + density * (q - grown);
      },
      y,
      0,
      seconds,
      {
        relative: this.relative,
        absolute: Float64Array.of(1e-3 * this.relative, 1e-3 * this.relative).map((a) => a * (y[0]! + y[1]! + 1)),
      },
      500_000,
      (_t, state) => state[0]! < 0 || state[1]! < 0,
    );
    // The amounts are settled by the sum, so that rounding and the last step below empty lose nothing.
    const inPockets = row.doors.map((d, k) => density * pocketVolume(network, d, to[k]!));
    const sum =
      mass[row.from]! +
      mass[row.to]! +
      row.doors.reduce((s, d) => s + mass[network.chambers + d]!, 0) +
      added[row.from]! +
      added[row.to]!;
    row.doors.forEach((d, k) => (mass[network.chambers + d] = inPockets[k]!));
    const chambers = sum - inPockets.reduce((a, m) => a + m, 0);
    const first = Math.min(
      Math.max(outcome.ended === 'stopped' ? Math.max(0, y[0]!) : y[0]!, 0),
      Math.max(0, chambers),
    );
    mass[row.from] = first;
    mass[row.to] = chambers - first;
    this.addInflows(
      added,
      [...added.keys()].filter((k) => k !== row.from && k !== row.to),
    );
    return outcome.ended !== 'budget';
  }

  /** Pressure at the datum that a chamber stands for, Pa. */
  private datum(chamber: number, mass: number): number {
    const { law, vessels } = this.model;
    const vessel = vessels[chamber]!;
    return pressureOf(law, vessel, Math.max(0, mass), 0)! + law.referenceDensity * GRAVITY * vessel.elevation;
  }
}

/**
 * Volume flow out of the first chamber, m3/s, through openings in series that lose `drop` in all, each Δp = ρ/2 (q/A)²; between them
 * pockets take up `growth`. Rises with `drop`; found by bisection and secant on the one unknown.
 */
export function rowFlow(drop: number, density: number, areas: readonly number[], growth: readonly number[]): number {
  const loss = (q: number): number => {
    let sum = 0;
    let through = q;
    for (let k = 0; k < areas.length; k++) {
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
  while (loss(size) < 0) size *= 2;
  let [a, b] = [-size, size];
  while (loss(a) > 0) a *= 2;
  let [fa, fb] = [loss(a), loss(b)];
  for (let k = 0; k < 100 && b - a > 1e-13 * size; k++) {
    const q = k % 3 === 2 ? 0.5 * (a + b) : (a * fb - b * fa) / (fb - fa);
    const f = loss(q);
    if (f > 0) [b, fb, fa] = [q, f, fa / 2];
    else [a, fa, fb] = [q, f, fb / 2];
  }
  return 0.5 * (a + b);
}

/** The same with pockets that stand still, in closed form: one opening with 1/A² = Σ 1/Aᵢ². */
function seriesFlow(drop: number, density: number, areas: readonly number[]): number {
  let square = 0;
  for (const a of areas) square += 1 / (a * a);
  const size = Math.abs(drop);
  const q = Math.sqrt((2 * Math.max(size, CREEP)) / density / square);
  return Math.sign(drop) * (size < CREEP ? (q * size) / CREEP : q);
}

/**
 * How far the pocket behind each door that opens towards a chamber can fill while the door is off its seat, at most: a pocket that
 * draws faster than liquid follows is a void, so the whole pressure of the chamber drives the flow, q = A √(2 p/ρ).
 */
export function liquidFills(model: LiquidOrificeModel, pattern: StrokePattern): CutOff[] {
  const { network, vessels, start, law, areas } = model;
  return network.links.flatMap((link) => {
    if (link.a >= network.chambers || link.orifice < 0) return [];
    const door = link.orifice;
    const pocket = network.open[door]! - network.shut[door]!;
    const path = pattern.doors[door]!;
    if (pocket <= 0 || path.moves.length === 0) return [];
    const speed = liquidSpeed(pressureOf(law, vessels[link.a]!, start[link.a]!, 0)!, law.referenceDensity);
    const open = pathIntegral(path, pattern.duration);
    const last = path.moves[path.moves.length - 1]!;
    return [
      { door, t: Math.min(last.arrives, pattern.duration), fill: Math.min(1, (areas[door]! * open * speed) / pocket) },
    ];
  });
}

/** ∫ opening dt, s, over the moments of one door. */
function pathIntegral(path: DoorPath, duration: number): number {
  const moments = [0, ...path.moves.flatMap((m) => [m.t, m.arrives]), duration]
    .filter((t) => t <= duration)
    .sort((a, b) => a - b);
  let sum = 0;
  for (let k = 1; k < moments.length; k++) {
    sum +=
      (0.5 *
        (positionAt(path, moments[k - 1]!) + positionBefore(path, moments[k]!)) *
        (moments[k]! - moments[k - 1]!)) /
      1e6;
  }
  return sum;
}

function volumeOf(network: CellNetwork, cell: number, at: readonly number[]): number {
  return cell < network.chambers
    ? network.volume[cell]!
    : pocketVolume(network, cell - network.chambers, at[cell - network.chambers]!);
}

function groupsOf(labels: Int32Array): number[][] {
  const groups = new Map<number, number[]>();
  labels.forEach((label, cell) => {
    const list = groups.get(label);
    if (list) list.push(cell);
    else groups.set(label, [cell]);
  });
  return [...groups.values()];
}

/** The one row of open doors between two chambers, if there is exactly one and it does not branch. */
function flowingRow(network: CellNetwork, labels: Int32Array, notShut: readonly boolean[]): Row | null {
  const open = network.links.filter((link) => link.gates.every((d) => notShut[d]));
  const rows: Row[] = [];
  for (let start = 0; start < network.chambers; start++) {
    const doors: number[] = [];
    let at = start;
    for (;;) {
      const next = open.filter((link) => link.a === at);
      if (next.length !== 1) break;
      at = next[0]!.b;
      if (at < network.chambers) {
        if (doors.length > 0) rows.push({ from: start, to: at, doors: [...doors] });
        break;
      }
      doors.push(at - network.chambers);
    }
  }
  const [row] = rows;
  if (rows.length !== 1 || !row) return null;
  const members = labels.reduce((n, label) => n + (label === labels[row.from] ? 1 : 0), 0);
  return members === row.doors.length + 2 ? row : null;
}
