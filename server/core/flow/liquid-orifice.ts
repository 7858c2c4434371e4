/**
 * Orifice level for liquids: what flows between two chambers that a row of open doors joins, and past doors that are shut, by head,
 * surface pressure and area, integrated over time (liquid-equations.ts). A liquid hardly gives way, so everything else is settled at
 * once as at the balance level: pockets open to one chamber only (they fill and empty as the doors move), rows with a chamber that is full to
 * the brim, and rows that branch to a third chamber.
 */
import { Balance } from './balance';
import type { Contents } from './contents';
import { leaksNow } from './leaks';
import { LiquidFlow, type Row } from './liquid-equations';
import { notePockets, noteStart } from './loads';
import type { LiquidLaw } from './media/law';
import { liquidSpeed } from './nozzle';
import type { DoorPath, StrokePattern } from './pattern';
import { positionAt, positionBefore } from '../model/motion';
import type { Step } from './program';
import type { FlowEngine, FlowModel } from './rig-model';
import { Sdirk } from './sdirk';
import { fullMass, pressureOf, workFrom } from './vessel';
import type { CutOff, DoorWork, StrokeWatch } from './watch';
import { countWork } from './watch';
import { finish, type Work } from '../work/work';

/** A model whose doors state openings and whose medium is a liquid. */
export interface LiquidOrificeModel extends FlowModel {
  readonly law: LiquidLaw;
  /** Effective area of each door when fully open, m2. */
  readonly areas: Float64Array;
}

/** Evaluations of the flow equations allowed for one step. */
const MOST = 500_000;

/** What flows in a step: the equations, null where nothing does, and their kernel. */
interface Flowing {
  readonly flow: LiquidFlow;
  readonly kernel: Sdirk;
}

/** A step as this level sees it, with and without the row that flows in it: a brimming chamber settles at once. */
interface Compiled {
  readonly row: Row | null;
  readonly withRow: Flowing | null;
  readonly withoutRow: Flowing | null;
}

/** The engine of this level. One row of doors at a time flows, and all leaks; everything else is `still`'s. */
export class LiquidOrifice implements FlowEngine {
  /** Everything but the flow between spaces of different pressure. */
  private readonly still: Balance;
  private readonly compiled = new WeakMap<Step, Compiled>();
  evaluations = 0;

  constructor(
    readonly model: LiquidOrificeModel,
    readonly contents: Contents,
    private readonly relative = 1e-7,
  ) {
    this.still = new Balance(model, contents);
  }

  step(step: Step, watch: StrokeWatch): boolean {
    return finish(this.stepWork(step, watch));
  }

  *stepWork(step: Step, watch: StrokeWatch): Work<boolean> {
    let compiled = this.compiled.get(step);
    if (!compiled) this.compiled.set(step, (compiled = this.compile(step)));
    const { row } = compiled;
    // In no time nothing flows through an opening of finite area: only what stands wide open settles.
    if (step.span === 0) return this.still.step(row ? apartFrom(step, row) : step, watch);
    const isFlowing = row !== null && this.isFree(row.from) && this.isFree(row.to);
    const flowing = isFlowing ? compiled.withRow : compiled.withoutRow;
    if (!flowing) return this.still.step(step, watch);
    if (watch.loads) noteStart(this.model, this.contents, step, watch.loads);
    if (!(yield* this.flow(flowing, isFlowing ? row : null, step, watch))) return false;
    if (watch.loads) notePockets(this.model, this.contents, step, watch.loads);
    return true;
  }

  private compile(step: Step): Compiled {
    const row = flowingRow(this.model, step);
    const leaks =
      this.model.leaks && step.span > 0
        ? leaksNow(this.model.leaks, this.model.network, step.notShut, step.labels)
        : [];
    const flowing = (through: Row | null): Flowing | null => {
      if (step.span === 0 || (!through && leaks.length === 0)) return null;
      const flow = new LiquidFlow(this.model, step, through, leaks);
      return { flow, kernel: new Sdirk(flow.size, flow.colours, flow.rows) };
    };
    return { row, withRow: row && flowing(row), withoutRow: flowing(null) };
  }

  /** Not brimming, nor about to: that changes how it flows. */
  private isFree(chamber: number): boolean {
    const { law, vessels } = this.model;
    const mass = this.contents.mass[chamber]!;
    return mass >= 0 && mass < fullMass(law, vessels[chamber]!) * (1 - 1e-9);
  }

  /** Integrates what flows over one step, then lets everything else settle. */
  private *flow({ flow, kernel }: Flowing, row: Row | null, step: Step, watch: StrokeWatch): Work<boolean> {
    if (row) this.fillPockets(row, step.before);
    const y = flow.start(this.contents);
    const held = flow.spaces.map((_, k) => flow.massOf(y, k, 0));
    kernel.evaluations = 0;
    const most = Math.min(MOST, watch.budget?.left ?? Infinity);
    const isDone = yield* kernel.run(flow.derivative, y, step.span, flow.scale(this.relative), most);
    this.evaluations += kernel.evaluations;
    const isPaid = watch.budget?.spend(kernel.evaluations) ?? true;
    if (!isDone || !isPaid) return false;
    flow.lines.forEach(({ index }, k) => watch.lines && (watch.lines[index]! += flow.moved(y, k)));
    if (watch.work) this.countWork(flow, row, y, step.span, watch.work);
    this.keep(flow, row, y, held);
    return this.settle(flow, row, step, watch);
  }

  /** Puts the amounts into the chambers, settled by their sum, so that rounding and the last step below empty lose nothing. */
  private keep(flow: LiquidFlow, row: Row | null, y: Float64Array, held: readonly number[]): void {
    const { mass } = this.contents;
    let sum = held.reduce((a, m) => a + m, 0);
    flow.lines.forEach(({ line }, k) => (sum += line.sign * flow.moved(y, k)));
    if (row) sum -= this.model.law.referenceDensity * flow.swept;
    const kept = flow.spaces.map((_, k) => Math.max(0, flow.massOf(y, k)));
    const largest = kept.indexOf(Math.max(...kept));
    kept[largest]! += sum - kept.reduce((all, m) => all + m, 0);
    flow.spaces.forEach(({ chambers }, k) => (mass[chambers[0]!]! += kept[k]! - held[k]!));
  }

  /** The rest of the step: its lines and groups, and how what the spaces hold spreads in them. */
  private settle(flow: LiquidFlow, row: Row | null, step: Step, watch: StrokeWatch): boolean {
    if (row) this.fillPockets(row, step.after, false);
    const isOwn = new Set(flow.lines.map(({ index }) => index));
    // Their lines have run and their work is counted within the integration.
    const lineSeconds = step.lineSeconds.map((seconds, k) => (isOwn.has(k) ? 0 : seconds));
    const { groups } = row ? apartFrom(step, row) : step;
    const isOf = ({ cells }: Step['groups'][number]): boolean =>
      flow.spaces.some(({ cells: own }) => own.includes(cells[0]!));
    const own = { ...step, groups: groups.filter(isOf), lineSeconds: [] };
    const others = { ...step, groups: groups.filter((group) => !isOf(group)), lineSeconds };
    return this.still.step(own, { budget: watch.budget }) && this.still.step(others, { ...watch, loads: undefined });
  }

  /** Pockets of a row are always full. What they lack or have too much of at the start goes to the first chamber at once. */
  private fillPockets(row: Row, volumes: Float64Array, fromChamber = true): void {
    const { network, law } = this.model;
    const { mass } = this.contents;
    for (const door of row.doors) {
      const wanted = law.referenceDensity * volumes[network.chambers + door]!;
      if (fromChamber) mass[row.from]! -= wanted - mass[network.chambers + door]!;
      mass[network.chambers + door] = wanted;
    }
  }

  private countWork(flow: LiquidFlow, row: Row | null, y: Float64Array, span: number, work: DoorWork): void {
    const outside = workFrom(this.model.law) * span;
    if (row) {
      const impulse = 0.5 * (flow.impulse(y, 0) + flow.impulse(y, 1)) - outside;
      flow.growthOf(row).forEach((growth, k) => growth !== 0 && countWork(work, row.doors[k]!, -impulse * growth));
    }
    flow.spaces.forEach(({ moving }, k) => {
      for (const [door, growth] of moving) countWork(work, door, (outside - flow.impulse(y, k)) * growth);
    });
  }
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
      {
        door,
        t: Math.min(last.arrives, pattern.duration),
        kind: 'fill',
        fill: Math.min(1, (areas[door]! * open * speed) / pocket),
      },
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

/** The step without the group that a row of doors joins. */
function apartFrom(step: Step, row: Row): Step {
  return { ...step, groups: step.groups.filter((group) => !group.cells.includes(row.from)) };
}

/** The one row of open doors between two chambers, if there is exactly one and it does not branch. */
function flowingRow({ network, areas }: LiquidOrificeModel, { labels, notShut }: Step): Row | null {
  const open = network.links.filter((link) => link.gates.every((d) => notShut[d]));
  const rows: Row[] = [];
  for (let start = 0; start < network.chambers; start++) {
    const doors: number[] = [];
    let at = start;
    for (;;) {
      const next = open.filter((link) => link.a === at);
      // A branch, or the end of what is open: not a single row.
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
  // A door without an opening lets any amount through: what it joins is settled at once.
  if (row.doors.some((door) => areas[door] === Infinity)) return null;
  return members === row.doors.length + 2 ? row : null;
}
