/**
 * Balance: the cheaper level of detail. Connected cells equalise at once, so one stroke is a fixed list of steps (program.ts), each
 * of them in closed form. Exact for slow doors and wide openings; the limit of the level of openings for large areas.
 *
 * Why a level of its own and not openings of great area: closed forms conserve to rounding, cost a hundredth, and need no discharge
 * coefficient, which most texts do not state. Invariants: a step moves mass only inside its groups, and by lines; the sum over a group is
 * kept to the last bit; after a step all cells of a group have one pressure (packed: one density).
 */
import type { FlowEngine, FlowModel } from './rig-model';
import { addMass, lineMass } from './lines';
import { bulkOf } from './cells';
import type { Program, Step } from './program';
import type { Contents } from './contents';
import type { Settle } from './settle';
import { settlerOf } from './settle';
import { pocketPressure, workFrom } from './vessel';
import type { StrokeWatch } from './watch';
import { countWork, noteExtremes, noteTemperatures } from './watch';
import { noteStart, notePockets } from './loads';

/** Shortest time in which heat crosses the walls in one go, as part of their time constant. */
const HEAT_STEP = 0.1;

/** The engine of this level: changes `contents` in place, one step after the other. */
export class Balance implements FlowEngine {
  private readonly settle: Settle;
  /** Pockets of stacks whose strokes were measured: nothing is squeezed in them. */
  private readonly measured: ReadonlySet<number>;

  constructor(
    readonly model: FlowModel,
    readonly contents: Contents,
  ) {
    this.settle = settlerOf(model.law, model.vessels);
    this.measured = new Set(model.network.measured.flatMap((move) => move.doors));
  }

  /** Runs one stroke (or one period of several) in place. */
  stroke(program: Program, watch: StrokeWatch = {}): boolean {
    for (const step of program.steps) this.step(step, watch);
    return true;
  }

  /** Runs one step: lines first, then every group settles, then measured moves. */
  step(step: Step, watch: StrokeWatch): boolean {
    // Loads before anything moves: what a door meets as it leaves its seat is gone once the sides have equalised.
    if (watch.loads) noteStart(this.model, this.contents, step, watch.loads);
    const parts = this.parts(step);
    for (let k = 0; k < parts; k++) this.part(step, k / parts, (k + 1) / parts, watch);
    for (const move of step.moves) this.moveMeasured(move);
    if (watch.loads) notePockets(this.model, this.contents, step, watch.loads);
    if (watch.extremes) noteExtremes(watch.extremes, this.contents);
    if (watch.hottest) noteTemperatures(watch.hottest, this.contents);
    if (watch.each) watch.each(step);
    return watch.budget?.spend(parts * step.groups.length + bulkOf(this.model.network)) ?? true;
  }

  /** Steps that heat or feeds go into: one where neither changes a temperature. */
  private parts({ span }: Step): number {
    const { walls } = this.model;
    if (!walls || span <= 0) return 1;
    // Heat and compression act together; taking turns in parts of a tenth of the time constant errs by about half such a part.
    return Math.max(1, Math.min(200, Math.ceil(span / (HEAT_STEP * walls.shortest(this.contents)))));
  }

  /** One share (`from` … `to`, parts of 1) of a step: lines and heat first, then the groups settle. */
  private part(step: Step, from: number, to: number, watch: StrokeWatch): void {
    const share = to - from;
    if (step.span > 0) {
      this.runLines(step.lineSeconds, share, watch);
      const { walls } = this.model;
      if (walls) this.contents.mass.forEach((_, cell) => walls.exchange(this.contents, cell, step.span * share));
    }
    for (const whole of step.groups) {
      const group = share === 1 ? whole : partOf(whole, from, to);
      const squeezed = whole.closed && whole.after < whole.before && watch.trapped !== undefined && to === 1;
      const first = squeezed ? this.closedPressure(group.cells, group.before) : 0;
      const settled = this.settle(this.contents, group);
      this.countWork(group.cells, group.volumesBefore, group.volumes, settled.pressure, watch);
      if (squeezed) this.noteTrapped(whole.cells, step.t, first, whole.after, watch);
    }
  }

  private noteTrapped(
    cells: readonly number[],
    t: number,
    from: number | null,
    after: number,
    { trapped }: StrokeWatch,
  ): void {
    const { chambers } = this.model.network;
    const doors = cells.map((cell) => cell - chambers);
    // Measured strokes displace nothing here, and a packed medium has no pressure that could rise.
    if (this.model.law.phase === 'packed' || doors.every((door) => this.measured.has(door))) return;
    trapped!.push({ doors, t, from, to: this.closedPressure(cells, after) });
  }

  private countWork(
    cells: readonly number[],
    before: readonly number[],
    after: readonly number[],
    pressure: number,
    { work }: StrokeWatch,
  ): void {
    // Work of one door: the pressure of its group, averaged over the step, times what its own pocket gives up.
    if (!work || pressure === 0) return;
    const { chambers } = this.model.network;
    const from = workFrom(this.model.law);
    for (let k = 0; k < cells.length; k++) {
      const change = after[k]! - before[k]!;
      if (change !== 0) countWork(work, cells[k]! - chambers, (from - pressure) * change);
    }
  }

  /** Feeds and draws of a share of a step, each as if its chamber changed by nothing else meanwhile. */
  private runLines(seconds: readonly number[], share: number, watch: StrokeWatch): void {
    const { lines, law, vessels } = this.model;
    for (let k = 0; k < lines.length; k++) {
      const line = lines[k]!;
      const vessel = vessels[line.chamber];
      if (!vessel) continue;
      const added = lineMass(line, (seconds[k] ?? 0) * share, law, vessel, this.contents);
      if (added === 0) continue;
      addMass(law, vessel, this.contents, line.chamber, added);
      if (watch.lines) watch.lines[k]! += Math.abs(added);
    }
  }

  /** A stack whose stroke was measured: a stated share of what is upstream goes downstream. */
  private moveMeasured(index: number): void {
    const { from, to, fraction } = this.model.network.measured[index]!;
    const moved = Math.max(0, this.contents.mass[from]! * fraction);
    this.contents.mass[from]! -= moved;
    this.contents.mass[to]! += moved;
  }

  /** Pressure that the joined contents of closed cells have in a volume, Pa. */
  private closedPressure(cells: readonly number[], volume: number): number | null {
    let mass = 0;
    for (const cell of cells) mass += this.contents.mass[cell]!;
    return pocketPressure(this.model.law, volume, mass, this.contents.temperature[cells[0]!]!);
  }
}

/** The part of an even movement between two shares of it; what opens, opens at its start. */
function partOf(group: Step['groups'][number], from: number, to: number): Step['groups'][number] {
  const at = (share: number): number[] => group.volumesBefore.map((v, k) => v + share * (group.volumes[k]! - v));
  const volumesBefore = at(from);
  const volumes = at(to);
  const sum = (values: readonly number[]): number => values.reduce((a, v) => a + v, 0);
  const edges = from === 0 ? group.edges : group.edges.map((edge) => ({ ...edge, fresh: false }));
  return { ...group, before: sum(volumesBefore), after: sum(volumes), volumesBefore, volumes, edges };
}
