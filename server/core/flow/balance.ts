/**
 * Balance: the cheaper level of detail. Connected cells equalise at once, so one stroke is a fixed list of steps (program.ts), each
 * of them in closed form. Exact for slow doors and wide openings; the limit of the orifice level for large areas.
 */
import type { CellNetwork } from './cells';
import type { LineFlow } from './lines';
import { addMass, lineMass } from './lines';
import type { Law } from './media/law';
import type { Program, Step } from './program';
import type { Contents, Settle } from './settle';
import { settlerOf } from './settle';
import type { Vessel } from './vessel';
import { pocketPressure } from './vessel';

/** All the flow engine knows of a rig: what `modelOf` builds. */
export interface FlowModel {
  readonly law: Law;
  readonly network: CellNetwork;
  readonly vessels: readonly Vessel[];
  readonly lines: readonly LineFlow[];
  /** Contents of the chambers at the start, kg. */
  readonly start: readonly number[];
}

/** A pocket, or several in connection, squeezed with nowhere to go. */
export interface Trapped {
  /** Doors whose pockets it is made of. */
  readonly doors: readonly number[];
  /** µs from the start of the stroke, when the squeeze ends. */
  readonly t: number;
  /** Pa; null for a packed medium; Infinity where nothing is left of the volume. */
  readonly from: number | null;
  readonly to: number | null;
}

/** Per chamber: mass (kg) and temperature (K) where the pressure was highest, and where it was lowest. */
export interface Extremes {
  readonly high: Contents;
  readonly low: Contents;
}

/** Extremes that start at the present contents of the chambers. */
export function extremesOf(contents: Contents, chambers: number): Extremes {
  const copy = (): Contents => ({
    mass: contents.mass.slice(0, chambers),
    temperature: contents.temperature.slice(0, chambers),
  });
  return { high: copy(), low: copy() };
}

/** Takes the present contents into the extremes. */
export function noteExtremes({ high, low }: Extremes, contents: Contents): void {
  for (let cell = 0; cell < high.mass.length; cell++) {
    const m = contents.mass[cell]!;
    const T = contents.temperature[cell]!;
    if (m * T > high.mass[cell]! * high.temperature[cell]!) {
      high.mass[cell] = m;
      high.temperature[cell] = T;
    }
    if (m * T < low.mass[cell]! * low.temperature[cell]!) {
      low.mass[cell] = m;
      low.temperature[cell] = T;
    }
  }
}

/** What to watch while a stroke runs; leave out what is not needed. */
export interface StrokeWatch {
  /** Highest and lowest state of each chamber so far. */
  readonly extremes?: Extremes;
  /** Work of the doors on the contents, J, in element 0. */
  readonly work?: Float64Array;
  readonly trapped?: Trapped[];
  /** Net mass moved by each line, kg (positive). */
  readonly lines?: Float64Array;
  /** Called after each step. */
  readonly each?: (step: Step) => void;
}

/** Contents at the start: chambers as the rig gives them; pockets hold what the nearest upstream chamber's density gives. */
export function startContents(model: FlowModel, startVolumes: Float64Array): Contents {
  const { network, vessels, law, start } = model;
  const cells = network.chambers + network.doors;
  const mass = new Float64Array(cells);
  const temperature = new Float64Array(cells).fill(law.temperature);
  start.forEach((m, chamber) => {
    mass[chamber] = m;
    temperature[chamber] = vessels[chamber]!.temperature;
  });
  const density = pocketDensities(model);
  for (let cell = network.chambers; cell < cells; cell++) mass[cell] = density[cell]! * startVolumes[cell]!;
  return { mass, temperature };
}

/** Density that each pocket starts with: that of the chamber upstream of it along the stack. */
function pocketDensities(model: FlowModel): Float64Array {
  const { network, vessels, law, start } = model;
  const density = new Float64Array(network.chambers + network.doors);
  start.forEach((m, chamber) => {
    const volume = vessels[chamber]!.volume;
    density[chamber] = law.phase === 'liquid' && m > 0 ? law.referenceDensity : volume > 0 ? m / volume : 0;
  });
  for (const link of network.links) if (link.b >= network.chambers) density[link.b] = density[link.a]!;
  return density;
}

export class Balance {
  private readonly settle: Settle;

  constructor(
    readonly model: FlowModel,
    readonly contents: Contents,
  ) {
    this.settle = settlerOf(model.law, model.vessels);
  }

  /** Runs one stroke (or one period of several) in place. */
  stroke(program: Program, watch: StrokeWatch = {}): void {
    for (const step of program.steps) this.step(step, watch);
  }

  /** Runs one step: lines first, then every group settles, then measured moves. */
  step(step: Step, watch: StrokeWatch): void {
    if (step.span > 0) this.runLines(step.lineSeconds, watch);
    for (const group of step.groups) {
      const squeezed = group.closed && group.after < group.before && watch.trapped !== undefined;
      const from = squeezed ? this.closedPressure(group.cells, group.before) : 0;
      const work = this.settle(this.contents, group);
      if (watch.work) watch.work[0]! += work;
      if (squeezed) {
        const to = this.closedPressure(group.cells, group.after);
        const doors = group.cells.map((cell) => cell - this.model.network.chambers);
        watch.trapped?.push({ doors, t: step.t, from, to });
      }
    }
    for (const move of step.moves) this.moveMeasured(move);
    if (watch.extremes) noteExtremes(watch.extremes, this.contents);
    if (watch.each) watch.each(step);
  }

  /** Lets time pass with all doors still: feeds and draws only. */
  idle(seconds: number, watch: StrokeWatch = {}): void {
    this.runLines(
      this.model.lines.map(() => seconds),
      watch,
    );
    if (watch.extremes) noteExtremes(watch.extremes, this.contents);
  }

  private runLines(seconds: readonly number[], watch: StrokeWatch): void {
    const { lines, law, vessels } = this.model;
    for (let k = 0; k < lines.length; k++) {
      const line = lines[k]!;
      const vessel = vessels[line.chamber];
      if (!vessel) continue;
      const added = lineMass(line, seconds[k] ?? 0, law, vessel, this.contents);
      if (added === 0) continue;
      addMass(law, vessel, this.contents, line.chamber, added);
      if (watch.lines) watch.lines[k]! += Math.abs(added);
    }
  }

  private moveMeasured(index: number): void {
    const { from, to, fraction } = this.model.network.measured[index]!;
    const moved = Math.max(0, this.contents.mass[from]! * fraction);
    this.contents.mass[from]! -= moved;
    this.contents.mass[to]! += moved;
  }

  private closedPressure(cells: readonly number[], volume: number): number | null {
    let mass = 0;
    for (const cell of cells) mass += this.contents.mass[cell]!;
    return pocketPressure(this.model.law, volume, mass, this.contents.temperature[cells[0]!]!);
  }
}
