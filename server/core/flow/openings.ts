/**
 * Flow of a gas through the openings of the doors, integrated over time. Each door has one opening, on its upstream side, whose area
 * grows with the door's position; behind it the pocket is wide open to what follows. Every chamber and pocket is a volume of its own with
 * one pressure and one temperature; cells, steps and feeds are those of the balance level, so where openings are wide the two agree.
 *
 * Cells that no open door joins go their own way, so a step falls into parts (openings-parts.ts), each with few unknowns, integrated by
 * a method for stiff equations (sdirk.ts). What the integration leaves over of mass and energy (rounding, its tolerance) goes to
 * the largest volume of the part: both are conserved to rounding.
 *
 * Steps of no time (a door that opens at once, a connection that changes) are done by the balance level first: through an opening nothing
 * flows in no time, so only volumes that jump and cells that become wide open to each other change.
 *
 * `compiled` and `flows` are keyed by steps and parts, which belong to a compiled stroke: thousands of strokes of one program build their
 * equations once.
 */
import { Balance } from './balance';
import type { FlowEngine, FlowModel } from './rig-model';
import type { Link } from './cells';
import { bulkOf, groupLabels } from './cells';
import { noteCutOffs } from './cut-offs';
import { addMass, lineMass } from './lines';
import { notePockets, noteStart } from './loads';
import type { GasLaw } from './media/law';
import type { GasNozzle } from './nozzle';
import { gasNozzle } from './nozzle';
import { varies } from './openings-lines';
import type { Part } from './openings-parts';
import { partsOf, withFloors } from './openings-parts';
import { PartFlow } from './openings-equations';
import type { Step } from './program';
import { groupsOf } from './program';
import { Sdirk } from './sdirk';
import type { Contents } from './contents';
import type { StrokeWatch } from './watch';
import { finish, type Work } from '../work/work';
import { countWork, noteExtremes, noteTemperatures } from './watch';

export interface GasModel extends FlowModel {
  readonly law: GasLaw;
}

export interface OpeningsOptions {
  /** Error of one step, as part of what a pocket holds. */
  readonly relative?: number;
  /** Evaluations of the flow equations allowed for one part of one step. */
  readonly budget?: number;
}

/** The engine of this level: changes `contents` in place, one step after the other. */
export class Openings implements FlowEngine {
  private readonly nozzle: GasNozzle;
  private readonly relative: number;
  private readonly budget: number;
  private readonly network: FlowModel['network'];
  /** Cells of one pressure may have temperatures of their own. */
  private readonly isMixed: boolean;
  /** Movements in no time, and measured moves, are those of the balance level. */
  private readonly jumps: Balance;
  private readonly compiled = new WeakMap<Step, readonly Part[]>();
  private readonly flows = new WeakMap<Part, { flow: PartFlow; kernel: Sdirk }>();
  evaluations = 0;

  constructor(
    readonly model: GasModel,
    readonly contents: Contents,
    options: OpeningsOptions = {},
  ) {
    this.network = withFloors(model.network);
    this.isMixed = model.law.exponent !== 1 && model.law.isIdeal === true;
    this.nozzle = gasNozzle(model.law.heatRatio);
    this.relative = options.relative ?? 2e-7;
    this.budget = options.budget ?? 100_000;
    this.jumps = new Balance({ ...model, lines: [] }, contents);
  }

  step(step: Step, watch: StrokeWatch): boolean {
    return finish(this.stepWork(step, watch));
  }

  *stepWork(step: Step, watch: StrokeWatch): Work<boolean> {
    if (watch.loads) noteStart(this.model, this.contents, step, watch.loads);
    const done = step.span > 0 ? yield* this.stretch(step, watch) : this.jump(step, watch);
    if (!done) return false;
    if (watch.cutOffs) noteCutOffs(this.model, this.contents, step, watch.cutOffs);
    if (watch.extremes) noteExtremes(watch.extremes, this.contents);
    if (watch.hottest) noteTemperatures(watch.hottest, this.contents);
    if (watch.each) watch.each(step);
    return true;
  }

  /**
   * Doors that move in no time. One that opens takes up its volume with what is wide open to it; one that closes pushes out into all that
   * it is open to. Connections alone change nothing here, because flow takes time; but cells that become wide open to each other are at one pressure at once.
   */
  private jump(step: Step, watch: StrokeWatch): boolean {
    const moved = step.groups.filter((group) => group.volumes.some((v, k) => v !== group.volumesBefore[k]));
    if (moved.length > 0 || step.moves.length > 0) {
      const { trapped, work } = watch;
      this.jumps.step({ ...step, groups: moved }, { trapped, work });
    }
    if (this.isMixed) this.joinWide(step);
    return true;
  }

  /** Cells that are wide open to each other equalise: gas flows from one into the other, with its heat. */
  private joinWide(step: Step): void {
    const { network, areas } = this.model;
    const isWide = ({ orifice }: Link): boolean => orifice < 0 || areas![orifice] === Infinity;
    // Labels "before" each cell for itself: whatever is wide open together counts as freshly joined, and is brought to one pressure.
    const labels = groupLabels(network, step.notShut, isWide);
    const apart = labels.map((_, cell) => cell);
    const groups = groupsOf(network, apart, labels, step.after, step.after, false);
    if (groups.length > 0) this.jumps.step({ ...step, groups, moves: [] }, {});
  }

  /** A step that takes time: its parts one after the other. */
  private *stretch(step: Step, watch: StrokeWatch): Work<boolean> {
    let parts = this.compiled.get(step);
    if (!parts) this.compiled.set(step, (parts = partsOf(this.network, this.model.areas!, step, this.model.leaks)));
    const inflow = this.inflows(parts, step, watch);
    const bulk = bulkOf(this.network);
    if (bulk > 0 && watch.budget?.spend(bulk) === false) return false;
    for (const part of parts) if (!(yield* this.part(part, step, inflow, watch))) return false;
    return true;
  }

  /**
   * kg/s of each line over the step: the same amounts as at the balance level, spread evenly; but where gas also flows through openings,
   * lines that depend on the contents are left to the equations.
   */
  private inflows(parts: readonly Part[], step: Step, watch: StrokeWatch): Float64Array {
    const { lines, law, vessels, network } = this.model;
    // Two entries a chamber: what is fed and what is drawn, apart, for a feed brings its own enthalpy and a draw takes that of the chamber.
    const mass = new Float64Array(2 * network.chambers);
    // Alone and in closed form: `lineMass` follows the varying rate itself, and no equations are set up.
    const isAlone = (chamber: number): boolean =>
      parts.some((part) => part.cells[0] === chamber && this.isClosedForm(part, step));
    lines.forEach((line, k) => {
      const vessel = vessels[line.chamber];
      if (!vessel || (varies(line) && !isAlone(line.chamber))) return;
      const added = lineMass(line, step.lineSeconds[k] ?? 0, law, vessel, this.contents);
      if (added === 0) return;
      mass[2 * line.chamber + (added > 0 ? 0 : 1)]! += added / step.span;
      if (watch.lines) watch.lines[k]! += Math.abs(added);
    });
    return mass;
  }

  /** One part over one step; false where it could not be followed within the budget. */
  private *part(part: Part, step: Step, inflow: Float64Array, watch: StrokeWatch): Work<boolean> {
    if (this.isClosedForm(part, step)) return this.alone(part, step, inflow, watch);
    let made = this.flows.get(part);
    if (!made) {
      const flow = new PartFlow({ ...this.model, network: this.network }, this.nozzle, part, this.contents);
      this.flows.set(part, (made = { flow, kernel: new Sdirk(flow.size, flow.colours, flow.rows) }));
    }
    const { flow, kernel } = made;
    const y = flow.start(this.contents, inflow, step);
    const each = watch.loads
      ? (t: number, state: Float64Array): void => {
          flow.put(this.contents, state, t);
          notePockets(this.model, this.contents, step, watch.loads!, flow.volumesAt(step, t));
        }
      : undefined;
    kernel.evaluations = 0;
    const scale = flow.scale(this.relative, y);
    // Two limits: that of one part of one step, and what the whole question may still cost.
    const most = Math.min(this.budget, watch.budget?.left ?? Infinity);
    // Most parts stand still most of the time: seen by one evaluation, without an integration.
    const isDone = flow.isStill(y) || (yield* kernel.run(flow.derivative, y, step.span, scale, most, each));
    this.evaluations += kernel.evaluations;
    const isPaid = watch.budget?.spend(kernel.evaluations) ?? true;
    if (!isDone || !isPaid) return false;
    flow.settle(y, step.span);
    flow.put(this.contents, y, step.span);
    if (watch.lines) for (const [line, mass] of flow.moved(y)) watch.lines[line]! += mass;
    if (watch.work) {
      flow.work(y).forEach((joules, k) => countWork(watch.work!, part.moving[k]!, joules));
    }
    if (watch.trapped) this.noteSqueezed(part, step, watch);
    return true;
  }

  /** One cell that nothing joins, and nothing in it waits for anything else: temperatures that move what feeds and walls do are integrated. */
  private isClosedForm({ cells }: Part, { lineSeconds }: Step): boolean {
    const { lines, walls, network, law } = this.model;
    if (cells.length > 1) return false;
    // Isothermal, or a pocket: no feed reaches it and no wall warms it, so the law's own closed form is exact.
    if (law.exponent === 1 || cells[0]! >= network.chambers) return true;
    const on = lines.filter((line, k) => line.chamber === cells[0] && (lineSeconds[k] ?? 0) > 0);
    return !on.some((line) => walls !== undefined || varies(line));
  }

  /** A cell that nothing joins: its volume changes, feeds run. */
  private alone(part: Part, step: Step, inflow: Float64Array, watch: StrokeWatch): boolean {
    const cell = part.cells[0]!;
    const { law, vessels, walls } = this.model;
    const { network } = this;
    const { mass, temperature } = this.contents;
    if (cell < network.chambers) {
      const added = inflow[2 * cell]! * step.span;
      const taken = inflow[2 * cell + 1]! * step.span;
      if (added !== 0) addMass(law, vessels[cell]!, this.contents, cell, added);
      if (taken !== 0) addMass(law, vessels[cell]!, this.contents, cell, taken);
      walls?.exchange(this.contents, cell, step.span);
      return true;
    }
    const [before, after] = [part.volume[0]!, part.volume[0]! + part.growth[0]! * step.span];
    if (before === after || mass[cell]! <= 0) return true;
    const was = mass[cell]! / before;
    const first = law.pressure(was, temperature[cell]!);
    // A sealed pocket: an even change without exchange, which the law has in closed form.
    const work = mass[cell]! * law.work(was, temperature[cell]!, mass[cell]! / after);
    temperature[cell] = law.temperatureAfter(was, temperature[cell]!, mass[cell]! / after);
    const door = cell - network.chambers;
    if (watch.work) countWork(watch.work, door, work);
    if (watch.loads) notePockets(this.model, this.contents, step, watch.loads);
    if (watch.trapped && after < before && !this.isMeasured(door)) {
      const to = this.isGone(door, step) ? Infinity : law.pressure(mass[cell]! / after, temperature[cell]!);
      watch.trapped.push({ doors: [door], t: step.t, from: first, to });
    }
    return true;
  }

  /** A pocket without clearance ends at the floor of `withFloors`, which is not a real volume: its pressure has no bound. */
  private isGone(door: number, step: Step): boolean {
    return this.model.network.shut[door] === 0 && step.to[door] === 0;
  }

  private isMeasured(door: number): boolean {
    return this.model.network.measured.some((move) => move.doors.includes(door));
  }

  /** Several pockets in connection with no chamber: what closes among them has nowhere to go. */
  private noteSqueezed(part: Part, step: Step, { trapped }: StrokeWatch): void {
    const { chambers } = this.network;
    if (part.cells.some((cell) => cell < chambers)) return;
    // Only a loss of volume in sum squeezes: one door opening as fast as another closes hands on what it holds.
    const change = part.growth.reduce((sum, g) => sum + g, 0) * step.span;
    if (!(change < 0)) return;
    const total = part.volume.reduce((sum, v) => sum + v, 0);
    const mass = part.cells.reduce((sum, cell) => sum + this.contents.mass[cell]!, 0);
    const { law } = this.model;
    const T = this.contents.temperature[part.cells[0]!]!;
    const doors = part.cells.map((cell) => cell - chambers);
    const to = doors.every((d) => this.isGone(d, step)) ? Infinity : law.pressure(mass / (total + change), T);
    trapped!.push({ doors, t: step.t, from: law.pressure(mass / total, T), to });
  }
}
