/**
 * Orifice: the finer level of detail for gases. Each door has one opening, on its upstream side, whose area grows with the door's
 * position; behind it the pocket is wide open to what follows. So cells fall into lumps (a chamber with the pocket that opens into
 * it, or a pocket alone) with one opening between neighbouring lumps, and the flow through the openings is integrated over time.
 * Cells, moments and feeds are those of the balance level, so where areas are large the two agree.
 */
import type { FlowModel } from './balance';
import type { CellNetwork, Link } from './cells';
import { groupLabels } from './cells';
import type { Derivative, Tolerance } from './dormand-prince';
import { DormandPrince } from './dormand-prince';
import { addMass, lineMass } from './lines';
import type { GasLaw } from './media/law';
import type { GasNozzle } from './nozzle';
import { gasNozzle, SHARP_EDGED } from './nozzle';
import { energyFlow, isothermalFlow, lumpPressure } from './orifice-equations';
import type { Inflow, Stretch } from './orifice-stretch';
import { cellVolume, compileStretch, lumpsOf, positionNow, wide, withLineMoments } from './orifice-stretch';
import type { StrokePattern } from './pattern';
import { onTime } from './pattern';
import { notShutAt, positionAt, positionBefore } from '../model/motion';
import type { Contents } from './settle';
import { settlerOf } from './settle';

export interface OrificeModel extends FlowModel {
  readonly law: GasLaw;
  /** Effective area of each door when fully open (discharge coefficient times area), m2. */
  readonly areas: Float64Array;
}

export interface OrificeOptions {
  readonly relative?: number;
  /** Evaluations of the flow equations allowed for one stroke. */
  readonly budget?: number;
}

/** A door that shut while the two sides it had joined were not yet at one pressure. */
export interface CutOff {
  readonly door: number;
  readonly t: number;
  /** Pressure behind it over pressure before it when it shut: 1 is complete. */
  readonly fill: number;
}

export interface OrificeStroke {
  readonly steps: number;
  readonly evaluations: number;
  readonly cutOffs: readonly CutOff[];
  /** False where the budget ran out: nothing of it may be used. */
  readonly complete: boolean;
}

/** Pockets never get smaller than this part of their open volume here: a volume of nothing has no pressure. */
const LEAST_CLEARANCE = 1e-4;
/** Relative pressure difference below which two lumps whose doors stand still count as one. */
const EQUAL = 1e-6;

/** Effective areas of the doors; null with a sentence where a door has no opening stated. */
export function effectiveAreas(
  doors: readonly {
    readonly name: string;
    readonly area: { readonly nominal: number } | null;
    readonly discharge: { readonly nominal: number } | null;
  }[],
): Float64Array | string {
  const without = doors.find((door) => !(door.area && door.area.nominal > 0));
  if (without) return `door \`${without.name}\` needs a bore or an area`;
  return Float64Array.from(doors, (door) => door.area!.nominal * (door.discharge?.nominal ?? SHARP_EDGED));
}

/** Network whose shut pockets keep a little volume. */
function withClearance(network: CellNetwork): CellNetwork {
  return { ...network, shut: network.shut.map((c, k) => Math.max(c, LEAST_CLEARANCE * network.open[k]!)) };
}

export class Orifice {
  private readonly network: CellNetwork;
  private readonly nozzle: GasNozzle;
  private readonly kernels = new Map<number, DormandPrince>();
  private readonly relative: number;
  private readonly budget: number;
  private steps = 0;
  private evaluations = 0;

  constructor(
    readonly model: OrificeModel,
    readonly contents: Contents,
    options: OrificeOptions = {},
  ) {
    this.network = withClearance(model.network);
    this.nozzle = gasNozzle(model.law.heatRatio);
    this.relative = options.relative ?? 1e-6;
    this.budget = options.budget ?? 400_000;
  }

  /** Runs one stroke in place. `each` sees the time (µs) after every stretch. */
  stroke(pattern: StrokePattern, each: (t: number) => void = () => {}): OrificeStroke {
    this.steps = 0;
    this.evaluations = 0;
    const cutOffs: CutOff[] = [];
    const moments = withLineMoments(pattern);
    for (let k = 1; k < moments.length; k++) {
      const [start, end] = [moments[k - 1]!, moments[k]!];
      this.jump(pattern, start);
      if (!this.stretch(pattern, start, end)) return this.result(cutOffs, false);
      this.noteCutOffs(pattern, start, end, cutOffs);
      each(end);
    }
    return this.result(cutOffs, true);
  }

  /** Pressure in a cell of volume `volume`, Pa. */
  pressure(cell: number, volume: number): number {
    return volume > 0
      ? this.model.law.pressure(this.contents.mass[cell]! / volume, this.contents.temperature[cell]!)
      : 0;
  }

  private result(cutOffs: readonly CutOff[], complete: boolean): OrificeStroke {
    return { steps: this.steps, evaluations: this.evaluations, cutOffs, complete };
  }

  /** Doors that move in no time: their pockets change volume at once, with the lumps as they were. */
  private jump(pattern: StrokePattern, t: number): void {
    const jumping = pattern.doors.some((path) => positionAt(path, t) !== positionBefore(path, t));
    if (!jumping) return;
    const was = pattern.doors.map((path) => positionBefore(path, t) > 0);
    const is = pattern.doors.map((path) => notShutAt(path, t));
    // An opening door joins its lump first, a closing one leaves it last.
    const labels = groupLabels(
      this.network,
      was.map((w, d) => w || is[d]!),
      wide,
    );
    const settle = settlerOf(this.model.law, this.model.vessels);
    const before = (cell: number): number =>
      cellVolume(this.network, cell, (d) => positionBefore(pattern.doors[d]!, t));
    const after = (cell: number): number => cellVolume(this.network, cell, (d) => positionAt(pattern.doors[d]!, t));
    for (const cells of lumpsOf(labels)) {
      const volumes = cells.map(after);
      const sum = (f: (cell: number) => number): number => cells.reduce((v, cell) => v + f(cell), 0);
      settle(this.contents, { cells, before: sum(before), after: sum(after), volumes, closed: false });
    }
  }

  private stretch(pattern: StrokePattern, start: number, end: number): boolean {
    const settle = settlerOf(this.model.law, this.model.vessels);
    const seconds = (end - start) / 1e6;
    let merged = new Set<Link>();
    const inflow = this.inflows(pattern, start, end);
    let t = 0;
    let reached = -1;
    for (;;) {
      const stretch = compileStretch(this.network, this.model.areas, pattern, [start + t * 1e6, end], merged, inflow);
      // Cells that joined a lump come to one density with it.
      stretch.lumps.forEach((cells, lump) => {
        const volumes = cells.map((cell) =>
          cellVolume(this.network, cell, (d) => positionNow(pattern, d, start + t * 1e6)),
        );
        if (cells.length > 1) {
          settle(this.contents, {
            cells,
            before: stretch.volume[lump]!,
            after: stretch.volume[lump]!,
            volumes,
            closed: false,
          });
        }
      });
      const outcome = this.integrate(stretch, seconds - t);
      t += outcome.t;
      this.spreadOut(pattern, stretch, t >= seconds ? end : start + t * 1e6);
      if (outcome.ended === 'end') return true;
      if (outcome.ended === 'budget') return false;
      const more = this.equalLinks(pattern, start + t * 1e6, merged);
      if (more.size === merged.size && t === reached) return false;
      reached = t;
      merged = more;
    }
  }

  /** Mass flow into each chamber over the stretch, kg/s: the same amounts as at the balance level, spread evenly. */
  private inflows(pattern: StrokePattern, start: number, end: number): Inflow {
    const { lines, law, vessels, network } = this.model;
    const mass = new Float64Array(network.chambers);
    const heat = new Float64Array(network.chambers);
    const seconds = (end - start) / 1e6;
    lines.forEach((line, k) => {
      const vessel = vessels[line.chamber];
      if (!vessel) return;
      const on = onTime(pattern.lines[k] ?? [], start, end);
      const added = lineMass(line, on, law, vessel, this.contents);
      if (added === 0) return;
      mass[line.chamber]! += added / seconds;
      if (law.exponent === 1) return;
      const m = this.contents.mass[line.chamber]!;
      const T = this.contents.temperature[line.chamber]!;
      const probe: Contents = { mass: Float64Array.of(m), temperature: Float64Array.of(T) };
      addMass(law, vessel, probe, 0, added);
      const energy = (kg: number, kelvin: number): number => kg * law.energy(kg / vessel.volume, kelvin);
      heat[line.chamber]! += (energy(probe.mass[0]!, probe.temperature[0]!) - energy(m, T)) / seconds;
    });
    return { mass, heat };
  }

  private integrate(stretch: Stretch, seconds: number): { t: number; ended: 'end' | 'stopped' | 'budget' } {
    const { law } = this.model;
    const lumps = stretch.lumps.length;
    const isothermal = law.exponent === 1;
    const y = new Float64Array(isothermal ? lumps : 2 * lumps);
    stretch.lumps.forEach((cells, lump) => {
      for (const cell of cells) y[lump]! += this.contents.mass[cell]!;
      if (!isothermal)
        y[lumps + lump] =
          y[lump]! * law.energy(y[lump]! / stretch.volume[lump]!, this.contents.temperature[cells[0]!]!);
    });
    const f = isothermal ? isothermalFlow(law, this.nozzle, stretch) : energyFlow(law, this.nozzle, stretch);
    let outcome: { t: number; ended: 'end' | 'stopped' | 'budget' } = { t: seconds, ended: 'end' };
    if (stretch.passages.length === 0 && isothermal)
      for (let k = 0; k < lumps; k++) y[k]! += stretch.inflow[k]! * seconds;
    else outcome = this.run(f, y, seconds, stretch);
    this.keep(stretch, y, outcome.t);
    return outcome;
  }

  private run(
    f: Derivative,
    y: Float64Array,
    seconds: number,
    stretch: Stretch,
  ): { t: number; ended: 'end' | 'stopped' | 'budget' } {
    let kernel = this.kernels.get(y.length);
    if (!kernel) this.kernels.set(y.length, (kernel = new DormandPrince(y.length)));
    const scale = y.map((v) => Math.abs(v));
    const largest = Math.max(...scale.subarray(0, stretch.lumps.length), 1e-12);
    const floor = Math.max(...scale, 1e-12);
    const absolute = y.map(
      (_, k) =>
        1e-3 *
        this.relative *
        (k < stretch.lumps.length ? Math.min(largest, Math.max(scale[k]!, 1e-4 * largest)) : floor),
    );
    const tolerance: Tolerance = { relative: this.relative, absolute };
    const still = stretch.growth.every((g) => g === 0) && stretch.widening.every((w) => w === 0);
    const stop = still ? (_t: number, state: Float64Array) => this.anyEqual(stretch, state) : undefined;
    const outcome = kernel.run(f, y, 0, seconds, tolerance, this.budget - this.evaluations, stop);
    this.steps += outcome.steps;
    this.evaluations += outcome.evaluations;
    return outcome;
  }

  private anyEqual(stretch: Stretch, y: Float64Array): boolean {
    return stretch.passages.some(({ from, to }) => {
      const a = lumpPressure(this.model.law, stretch, y, from);
      const b = lumpPressure(this.model.law, stretch, y, to);
      return Math.abs(a - b) <= EQUAL * Math.max(a, b);
    });
  }

  /** Links whose two sides are equal now, beside those merged before. */
  private equalLinks(pattern: StrokePattern, t: number, merged: ReadonlySet<Link>): Set<Link> {
    const all = new Set(merged);
    const at = (d: number): number => positionNow(pattern, d, t);
    for (const link of this.network.links) {
      if (wide(link) || !link.gates.every((d) => notShutAt(pattern.doors[d]!, t))) continue;
      const a = this.pressure(link.a, cellVolume(this.network, link.a, at));
      const b = this.pressure(link.b, cellVolume(this.network, link.b, at));
      if (Math.abs(a - b) <= 2 * EQUAL * Math.max(a, b)) all.add(link);
    }
    return all;
  }

  /** Puts the integrated lumps back into their cells. */
  private keep(stretch: Stretch, y: Float64Array, t: number): void {
    const { law } = this.model;
    const n = stretch.lumps.length;
    stretch.lumps.forEach((cells, lump) => {
      const first = cells[0]!;
      for (const cell of cells) this.contents.mass[cell] = 0;
      this.contents.mass[first] = y[lump]!;
      if (law.exponent === 1) return;
      const density = y[lump]! / (stretch.volume[lump]! + stretch.growth[lump]! * t);
      const T = law.temperatureOf(density, y[n + lump]! / Math.max(y[lump]!, 1e-15));
      for (const cell of cells) this.contents.temperature[cell] = T;
    });
  }

  private spreadOut(pattern: StrokePattern, stretch: Stretch, t: number): void {
    const settle = settlerOf(this.model.law, this.model.vessels);
    for (const cells of stretch.lumps) {
      const volumes = cells.map((cell) =>
        cellVolume(this.network, cell, (d) => positionNow(pattern, d, t, stretch.end)),
      );
      const volume = volumes.reduce((a, v) => a + v, 0);
      settle(this.contents, { cells, before: volume, after: volume, volumes, closed: false });
    }
  }

  private noteCutOffs(pattern: StrokePattern, start: number, end: number, into: CutOff[]): void {
    const open = pattern.doors.map((path) => notShutAt(path, start));
    pattern.doors.forEach((path, door) => {
      if (!open[door] || positionBefore(path, end) > 0) return;
      const cell = this.network.chambers + door;
      const contact = (c: number): boolean => c < this.network.chambers || open[c - this.network.chambers]!;
      const before = this.network.links.find((link) => link.b === cell)?.a;
      const after = this.network.links.find((link) => link.a === cell)?.b;
      if (before === undefined || after === undefined || !contact(before) || !contact(after)) return;
      const at = (d: number): number => positionBefore(pattern.doors[d]!, end);
      const upstream = this.pressure(before, cellVolume(this.network, before, at));
      if (upstream > 0)
        into.push({ door, t: end, fill: this.pressure(after, cellVolume(this.network, after, at)) / upstream });
    });
  }
}
