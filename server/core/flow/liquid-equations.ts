/**
 * The flow of a liquid between spaces of one pressure each, integrated over a step: through a row of open doors between two chambers, and
 * past doors that are shut. Unknown is what each space holds; its pressure at the datum follows from that, as the balance level has it, so
 * that a space which is full to the brim is as stiff as the liquid. That takes a method for stiff equations (sdirk.ts).
 *
 * The unknown of a space is how far it is from its brim: the nearer, the closer it is followed, for beyond it the pressure follows the last
 * ten-thousandth of the mass.
 *
 * A space that has run dry gives nothing: what leaves it goes to nothing with the last millionth of what it can hold. Feeds and draws run
 * within the equations, with the contents as they stand at each moment.
 */
import type { Contents } from './contents';
import type { Leak } from './leaks';
import { type LineFlow, rateNow } from './lines';
import { conditioned, varies } from './openings-lines';
import type { LiquidOrificeModel } from './liquid-orifice';
import { rowFlow, seriesFlow } from './row-flow';
import type { Step } from './program';
import type { Derivative, Scale } from './sdirk';
import { headOf, spacePressure } from './settle';
import { fullMass, liquidMassAt, reading } from './vessel';

/** Doors in a row between two chambers, with the pocket of each behind it. */
export interface Row {
  readonly from: number;
  readonly to: number;
  readonly doors: readonly number[];
}

/** Cells of one pressure: chambers, and the pockets open to them. */
interface Space {
  /** Chambers first. */
  readonly cells: readonly number[];
  readonly chambers: readonly number[];
  /** Of its pockets at the start of the step, m3, and change per second. */
  readonly pockets: number;
  readonly growth: number;
  /** Mass that fills its chambers, kg. */
  readonly full: number;
  /** Doors whose pockets change, with m3/s. */
  readonly moving: readonly (readonly [door: number, growth: number])[];
}

interface RunningLine {
  readonly line: LineFlow;
  /** In the rig's lines. */
  readonly index: number;
  readonly space: number;
  /** Part of the step that it is switched on for: it runs at that part of its rate throughout. */
  readonly share: number;
}

/** Pa to whose part of it, the relative error, the pressure of a brimming space is followed. */
const BRIM = 1e5;
/** Part of what fills a space below which less and less leaves it. */
const DRY = 1e-6;

/** One step's spaces and what joins them; unknowns: mass of each space less what fills it, mass of each line, ∫ p dt of each space. */
export class LiquidFlow {
  readonly spaces: readonly Space[];
  readonly size: number;
  readonly colours: readonly (readonly number[])[];
  readonly rows: readonly (readonly number[])[];
  readonly lines: readonly RunningLine[];
  private readonly leaks: readonly { readonly a: number; readonly b: number; readonly area: number }[];
  private readonly pressure: Float64Array;

  constructor(
    private readonly model: LiquidOrificeModel,
    private readonly step: Step,
    /** Open doors that flow; its pockets are always full. */
    private readonly row: Row | null,
    leaks: readonly Leak[],
  ) {
    const ends = row ? [row.from, row.to] : [];
    const label = (cell: number): number => step.labels[cell]!;
    const labels = new Set(leaks.flatMap(({ a, b }) => [a, b]).map(label));
    const inRow = row ? label(row.from) : -1;
    labels.delete(inRow);
    const cells = Array.from(step.labels, (_, cell) => cell);
    const joined = [...labels].map((of) => cells.filter((cell) => label(cell) === of));
    this.spaces = [...ends.map((end) => [end]), ...joined].map((of) => spaceOf(model, step, of));
    const spaceOfCell = (cell: number): number => this.spaces.findIndex(({ cells: own }) => own.includes(cell));
    this.leaks = leaks.map(({ a, b, area }) => ({ a: spaceOfCell(a), b: spaceOfCell(b), area }));
    this.lines = model.lines.flatMap((line, index): RunningLine[] => {
      const space = spaceOfCell(line.chamber);
      const share = (step.lineSeconds[index] ?? 0) / step.span;
      return space >= 0 && share > 0 ? [{ line, index, space, share }] : [];
    });
    const n = this.spaces.length;
    this.size = 2 * n + this.lines.length;
    this.pressure = new Float64Array(n);
    // Nothing depends on the amounts that are added up, so that only the masses are ever shifted.
    this.colours = this.spaces.map((_, k) => [k]);
    const all = Array.from({ length: this.size }, (_, k) => k);
    this.rows = all.map((k) => (k < n ? all : []));
  }

  /** Unknowns at the start of the step. */
  start({ mass }: Contents): Float64Array {
    const y = new Float64Array(this.size);
    this.spaces.forEach(({ cells }, k) => {
      y[k] = cells.reduce((sum, cell) => sum + mass[cell]!, 0) - this.brimAt(k, 0);
    });
    return y;
  }

  /** kg in a space at a time in the step, s. */
  massOf(y: Float64Array, space: number, t = this.step.span): number {
    return this.brimAt(space, t) + y[space]!;
  }

  /** kg that fill chambers and pockets of a space. */
  private brimAt(space: number, t: number): number {
    const { full, pockets, growth } = this.spaces[space]!;
    return full + this.model.law.referenceDensity * (pockets + growth * t);
  }

  /** Errors are measured by what the largest pocket holds; without one, by what fills the smallest space. */
  scale(relative: number): Scale {
    const { network, law } = this.model;
    const n = this.spaces.length;
    const pocket = network.open.reduce((most, v) => Math.max(most, v), 0);
    const least = this.spaces.reduce((low, { full }) => (full > 0 ? Math.min(low, full) : low), Infinity);
    const mass = pocket > 0 ? Math.min(pocket * law.referenceDensity, least) : least;
    const pressures = 1e5 * this.step.span;
    const of = (k: number): number => (k < n + this.lines.length ? mass : pressures);
    return {
      relative,
      absolute: Float64Array.from(
        { length: this.size },
        (_, k) => relative * of(k) * (k < n ? BRIM / law.bulkModulus : 0.1),
      ),
      ceiling: Float64Array.from({ length: this.size }, (_, k) => of(k)),
      switched: this.lines.flatMap(({ line, share }, k) =>
        line.only ? [{ unknown: n + k, most: line.rateAt ? Infinity : share * line.rate }] : [],
      ),
    };
  }

  readonly derivative: Derivative = (t, y, into) => {
    const { spaces, row, leaks, model, pressure, lines } = this;
    const { law } = model;
    const density = law.referenceDensity;
    const n = spaces.length;
    into.fill(0);
    for (let k = 0; k < n; k++) {
      pressure[k] = this.pressureIn(spaces[k]!, Math.max(0, this.massOf(y, k, t)), t);
      into[n + lines.length + k] = pressure[k]!;
    }
    if (row) {
      const grown = this.growthOf(row);
      const drop = pressure[0]! - pressure[1]!;
      const areas = row.doors.map((door) => this.areaAt(door, t));
      const q = rowFlow(drop, density, areas, grown) * density;
      const passed = q * this.wetness(y, q > 0 ? 0 : 1, t);
      into[0]! -= passed;
      into[1]! += passed - density * grown.reduce((a, g) => a + g, 0);
    }
    for (const { a, b, area } of leaks) {
      const drop = pressure[a]! - pressure[b]!;
      const q = density * seriesFlow(drop, density, [area]) * this.wetness(y, drop > 0 ? a : b, t);
      into[a]! -= q;
      into[b]! += q;
    }
    for (let k = 0; k < lines.length; k++) {
      const { line, space } = lines[k]!;
      const q = this.lineRate(lines[k]!, pressure[space]!) * (line.sign < 0 ? this.wetness(y, space, t) : 1);
      into[space]! += line.sign * q;
      into[n + k] = q;
    }
    for (let k = 0; k < n; k++) into[k]! -= density * spaces[k]!.growth;
  };

  /** kg that each line of `lines` has moved, and ∫ p dt of each space, Pa s. */
  moved = (y: Float64Array, k: number): number => y[this.spaces.length + k]!;
  impulse = (y: Float64Array, space: number): number => y[this.spaces.length + this.lines.length + space]!;

  /** m3 by which the pockets of the row grow in the step. */
  get swept(): number {
    return this.row ? this.growthOf(this.row).reduce((a, g) => a + g, 0) * this.step.span : 0;
  }

  /** m3/s of each pocket of a row. */
  growthOf = ({ doors }: Row): number[] => {
    const { before, after, span } = this.step;
    const { chambers } = this.model.network;
    return doors.map((d) => (after[chambers + d]! - before[chambers + d]!) / span);
  };

  private pressureIn({ chambers, pockets, growth }: Space, mass: number, t: number): number {
    const { law, vessels } = this.model;
    return spacePressure(law, vessels, chambers, Math.max(0, pockets + growth * t), mass);
  }

  /** 1, and on the last millionth of what fills the space down to 0. */
  private wetness(y: Float64Array, space: number, t: number): number {
    return Math.min(1, Math.max(0, this.massOf(y, space, t) / (DRY * this.spaces[space]!.full)));
  }

  /** A floor below which flow is nothing keeps the division in `rowFlow` defined at the instant a door leaves its seat. */
  private areaAt(door: number, t: number): number {
    const { from, to, span } = this.step;
    return Math.max(this.model.areas[door]! * (from[door]! + ((to[door]! - from[door]!) * t) / span), 1e-12);
  }

  private lineRate({ line, share }: RunningLine, datum: number): number {
    if (!varies(line)) return share * line.rate;
    const { law, vessels } = this.model;
    const vessel = vessels[line.chamber]!;
    const mass = liquidMassAt(law, vessel, datum - headOf(law, vessel));
    const now = line.only ? reading(law, vessel, line.only.sensed, mass, law.temperature) : null;
    return share * conditioned(line, rateNow(line, mass, law.temperature), now);
  }
}

function spaceOf({ network, law, vessels }: LiquidOrificeModel, step: Step, cells: readonly number[]): Space {
  const chambers = cells.filter((cell) => cell < network.chambers);
  const pockets = cells.filter((cell) => cell >= network.chambers);
  const volume = (of: Float64Array): number => pockets.reduce((sum, cell) => sum + of[cell]!, 0);
  const growthOf = (cell: number): number => (step.after[cell]! - step.before[cell]!) / step.span;
  return {
    cells,
    chambers,
    pockets: volume(step.before),
    growth: (volume(step.after) - volume(step.before)) / step.span,
    full: chambers.reduce((sum, chamber) => sum + fullMass(law, vessels[chamber]!), 0),
    moving: pockets.flatMap((cell) =>
      growthOf(cell) === 0 ? [] : [[cell - network.chambers, growthOf(cell)] as const],
    ),
  };
}
