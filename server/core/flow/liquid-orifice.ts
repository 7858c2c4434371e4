/**
 * Orifice level for liquids: the flow between two chambers that a row of open doors joins, by head, surface pressure and area, integrated
 * over time. A liquid hardly gives way, so everything else is settled at once as at the balance level: pockets open to one chamber only
 * (they fill and empty as the doors move), chambers that are full to the brim, and rows that branch to a third chamber.
 *
 * Why not the stiff solver of the gas: with the liquid taken as incompressible between two free surfaces there are two unknowns and slow
 * levels, for which an explicit method with step control is enough. What would make it stiff (a full vessel, K of 2 GPa) is left to the
 * balance level, which has it in closed form.
 */
import { Balance } from './balance';
import type { Contents } from './contents';
import { DormandPrince } from './dormand-prince';
import { lineMass } from './lines';
import { notePockets, noteStart } from './loads';
import { GRAVITY } from './media/constants';
import type { LiquidLaw } from './media/law';
import { liquidSpeed } from './nozzle';
import type { DoorPath, StrokePattern } from './pattern';
import { positionAt, positionBefore } from '../model/motion';
import type { Step } from './program';
import type { FlowEngine, FlowModel } from './rig-model';
import { fullMass, pressureOf } from './vessel';
import type { CutOff, StrokeWatch } from './watch';
import { countWork, noteExtremes } from './watch';
import { finish, type Work } from '../work/work';

/** A model whose doors state openings and whose medium is a liquid. */
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

/** The engine of this level. One row of doors at a time flows; everything else is `still`'s. */
export class LiquidOrifice implements FlowEngine {
  private readonly kernel = new DormandPrince(2);
  /** Everything but the flow between two chambers through a row of doors. */
  private readonly still: Balance;
  private readonly rows = new WeakMap<Step, { readonly row: Row | null }>();
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
    let known = this.rows.get(step);
    if (!known) this.rows.set(step, (known = { row: flowingRow(this.model, step) }));
    const { row } = known;
    // No row, or a chamber at one of its limits: the balance level has both in closed form.
    if (!row || !this.isFree(row.from) || !this.isFree(row.to)) {
      return this.still.step(row && step.span === 0 ? apartFrom(step, row) : step, watch);
    }
    // In no time nothing flows through an opening of finite area: only what stands wide open settles.
    if (step.span === 0) return this.still.step(apartFrom(step, row), watch);
    if (watch.loads) noteStart(this.model, this.contents, step, watch.loads);
    const { lines, ...rest } = watch;
    if (!(yield* this.flow(row, step, lines, watch))) return false;
    // Lines have run within the integration; the rest of the step must not run them again.
    const others = { ...apartFrom(step, row), lineSeconds: [] };
    return this.still.step(others, { ...rest, loads: undefined }) && this.note(step, watch);
  }

  private note(step: Step, watch: StrokeWatch): boolean {
    if (watch.loads) notePockets(this.model, this.contents, step, watch.loads);
    if (watch.extremes) noteExtremes(watch.extremes, this.contents);
    return true;
  }

  /** Neither empty nor brimming, nor about to be: those change how it flows. */
  private isFree(chamber: number): boolean {
    const { law, vessels } = this.model;
    const mass = this.contents.mass[chamber]!;
    return mass >= 0 && mass < fullMass(law, vessels[chamber]!) * (1 - 1e-9);
  }

  /** kg that feeds and draws bring to each chamber in a step; counted by line into `moved`. */
  private inflows(step: Step, moved: Float64Array | undefined): Float64Array {
    const { lines, law, vessels, network } = this.model;
    const added = new Float64Array(network.chambers);
    lines.forEach((line, k) => {
      const vessel = vessels[line.chamber];
      if (!vessel) return;
      const mass = lineMass(line, step.lineSeconds[k] ?? 0, law, vessel, this.contents);
      added[line.chamber]! += mass;
      if (moved) moved[k]! += Math.abs(mass);
    });
    return added;
  }

  /** Integrates the two chambers of a row over one step; their pockets stay full. */
  private *flow(row: Row, step: Step, lines: Float64Array | undefined, watch: StrokeWatch): Work<boolean> {
    const { law, areas, network } = this.model;
    const { mass } = this.contents;
    const { span, from, to } = step;
    const density = law.referenceDensity;
    const added = this.inflows(step, lines);
    const pocket = (door: number, volumes: Float64Array): number => density * volumes[network.chambers + door]!;
    const growth = row.doors.map(
      (d) => (step.after[network.chambers + d]! - step.before[network.chambers + d]!) / span,
    );
    const area = (door: number, t: number): number =>
      // A floor below which flow is nothing keeps the division in `rowFlow` defined at the instant a door leaves its seat.
      Math.max(areas[door]! * (from[door]! + ((to[door]! - from[door]!) * t) / span), 1e-12);
    // What the pockets lack or have too much of at the start goes to the first chamber at once.
    for (const d of row.doors) {
      const wanted = pocket(d, step.before);
      mass[row.from]! -= wanted - mass[network.chambers + d]!;
      mass[network.chambers + d] = wanted;
    }
    const y = Float64Array.of(mass[row.from]!, mass[row.to]!);
    const rates = [added[row.from]! / span, added[row.to]! / span];
    const grown = growth.reduce((a, g) => a + g, 0);
    const held = y[0]! + y[1]!;
    const outcome = yield* this.kernel.run(
      (t, state, into) => {
        this.evaluations++;
        const drop = this.datum(row.from, state[0]!) - this.datum(row.to, state[1]!);
        const q = rowFlow(
          drop,
          density,
          row.doors.map((d) => area(d, t)),
          growth,
        );
        into[0] = rates[0]! - density * q;
        into[1] = rates[1]! + density * (q - grown);
      },
      y,
      0,
      span,
      { relative: this.relative, absolute: new Float64Array(2).fill(1e-3 * this.relative * (held + 1)) },
      Math.min(500_000, watch.budget?.left ?? Infinity),
      (_t, state) => state[0]! < 0 || state[1]! < 0,
    );
    if (watch.work) {
      const pressure = 0.5 * (this.datum(row.from, y[0]!) + this.datum(row.to, y[1]!));
      row.doors.forEach((door, k) => growth[k] !== 0 && countWork(watch.work!, door, -pressure * growth[k]! * span));
    }
    // The amounts are settled by the sum, so that rounding and the last step below empty lose nothing.
    let chambers = held + added[row.from]! + added[row.to]!;
    for (const d of row.doors) {
      chambers += mass[network.chambers + d]! - pocket(d, step.after);
      mass[network.chambers + d] = pocket(d, step.after);
    }
    mass[row.from] = Math.min(Math.max(0, y[0]!), Math.max(0, chambers));
    mass[row.to] = chambers - mass[row.from]!;
    added.forEach((m, k) => {
      if (k !== row.from && k !== row.to) mass[k]! += m;
    });
    const isPaid = watch.budget?.spend(outcome.evaluations) ?? true;
    return isPaid && outcome.ended !== 'budget';
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
