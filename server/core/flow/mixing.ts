/**
 * Ideal gas in joined volumes that exchange no heat: they share a pressure, each keeps its own temperature, and gas mixes only where it
 * flows (first law for open volumes, any text of engineering thermodynamics).
 *
 * The idea: measure a volume by w = V p^(1/n), its volume at a reference pressure along its own isentrope (n = cp/cv). Where gas only
 * expands or is compressed, w flows between volumes like an incompressible fluid, and the mass in a volume over its w is a tracer that
 * changes by mixing alone: dy/dw_in = (y_in − y)/w. That has a closed form, so a whole movement of a door is one step where gas passes
 * at most one volume that it mixes in, and a few steps where it passes more.
 *
 * Invariants: the mass leaves one volume exactly as it enters the next; the energy Σ p V/(n − 1) is kept exactly while volumes stand.
 *
 * Why not one common temperature: a pocket of hot compressed gas that opens to a store would come out mixed with all of it at once, and the
 * next stroke would take back gas that in truth never left the store. Over many strokes that is the difference between a store that
 * warms up and one that does not.
 */
import type { Contents, Settled } from './contents';
import type { Edge, Group } from './program';

/** Steps of a movement where gas that was mixed is mixed again further on. */
const STEPS = 12;
/** Part of a whole volume that is none. */
const DUST = 1e-14;
/** Relative difference of pressures that is only rounding. */
const EQUAL = 1e-14;

/** Settles groups of an ideal gas without heat exchange; holds no state between two of them. */
export class Mixer {
  constructor(
    /** J/(kg K) */
    private readonly gasConstant: number,
    /** n of p Vⁿ, above 1. */
    private readonly exponent: number,
  ) {}

  /** Settles one group in place: sides that open equalise first, then the volumes change together. */
  settle(contents: Contents, group: Group): Settled {
    const { cells, before, after } = group;
    const mass = cells.map((cell) => contents.mass[cell]!);
    const total = mass.reduce((sum, m) => sum + m, 0);
    if (total <= 0 || after <= 0) return { work: 0, pressure: 0 };
    if (cells.length === 1) return this.alone(contents, group);
    const energy = mass.map((m, k) => (m * this.gasConstant * contents.temperature[cells[k]!]!) / (this.exponent - 1));
    const network = new Joined(this.gasConstant, this.exponent, mass);
    const sum = energy.reduce((a, e) => a + e, 0);
    const first = before > 0 ? before : after;
    const volumesBefore = withoutDust(group.volumesBefore, first);
    const volumesAfter = withoutDust(group.volumes, after);
    const volumes = before > 0 ? volumesBefore : volumesAfter;
    // Equalising is isochoric (Σ E kept, so p = (n − 1) Σ E / Σ V); the movement after it is isentropic (p Vⁿ kept). Two steps, since opening
    // takes no time and moving does.
    equaliseAll(network, group.edges, energy, volumes);
    const start = ((this.exponent - 1) * sum) / first;
    let work = 0;
    let end = start;
    if (before > 0 && moves(group)) {
      end = start * Math.pow(before / after, this.exponent);
      network.resize(group.edges, volumesBefore, volumesAfter, start, end);
      work = (end * after - start * before) / (this.exponent - 1);
    }
    network.put(contents, cells, volumesAfter, end);
    return { work, pressure: before === after ? start : -work / (after - before) };
  }

  /** One cell: an isentropic change of its volume. */
  private alone({ mass, temperature }: Contents, { cells, before, after }: Group): Settled {
    const cell = cells[0]!;
    const was = temperature[cell]!;
    const perKelvin = (mass[cell]! * this.gasConstant) / (this.exponent - 1);
    if (before <= 0 || before === after) return { work: 0, pressure: 0 };
    temperature[cell] = was * Math.pow(before / after, this.exponent - 1);
    const work = perKelvin * (temperature[cell]! - was);
    return { work, pressure: -work / (after - before) };
  }
}

/** Volumes that are nothing beside the others count as nothing. */
const withoutDust = (volumes: readonly number[], of: number): number[] => volumes.map((v) => (v > DUST * of ? v : 0));

const moves = ({ volumesBefore, volumes }: Group): boolean => volumes.some((v, k) => v !== volumesBefore[k]);

/**
 * Brings the cells to one pressure, volumes standing: first those that were joined already (feeds and heat have parted them), then
 * across one opening after another. `energy` is each cell's own, and is brought along.
 */
function equaliseAll(network: Joined, edges: readonly Edge[], energy: number[], volumes: readonly number[]): void {
  // One opening after another, as they are listed: where two open at the same moment the order is a choice, the same every time.
  const joined: Edge[] = edges.filter((edge) => !edge.fresh);
  if (joined.length > 0) for (const part of partsOf(joined)) equalise(network, part, energy, volumes);
  for (const edge of edges) {
    if (!edge.fresh) continue;
    joined.push(edge);
    equalise(
      network,
      partsOf(joined).find((part) => part.includes(edge))!,
      energy,
      volumes,
    );
  }
}

/** Edges by connected part. */
function partsOf(edges: readonly Edge[]): Edge[][] {
  const parts: { cells: Set<number>; edges: Edge[] }[] = [];
  for (const edge of edges) {
    const touching = parts.filter((part) => part.cells.has(edge.a) || part.cells.has(edge.b));
    const one = { cells: new Set([edge.a, edge.b]), edges: [edge] };
    for (const part of touching) {
      part.cells.forEach((cell) => one.cells.add(cell));
      one.edges.push(...part.edges);
      parts.splice(parts.indexOf(part), 1);
    }
    parts.push(one);
  }
  return parts.map((part) => part.edges);
}

/** One connected part to one pressure; `energy` of its cells follows. */
function equalise(network: Joined, edges: readonly Edge[], energy: number[], volumes: readonly number[]): void {
  const cells = [...new Set(edges.flatMap((edge) => [edge.a, edge.b]))];
  const volume = cells.reduce((sum, cell) => sum + volumes[cell]!, 0);
  if (volume <= 0) return;
  const density = cells.reduce((sum, cell) => sum + energy[cell]!, 0) / volume;
  // One pressure in all cells means one energy density: each takes or gives what brings it there.
  const gain = new Float64Array(energy.length);
  let largest = 0;
  for (const cell of cells) {
    gain[cell] = density * volumes[cell]! - energy[cell]!;
    largest = Math.max(largest, Math.abs(gain[cell]!));
  }
  if (largest > EQUAL * density * volume) network.level(edges, gain, energy, volumes);
  for (const cell of cells) energy[cell] = density * volumes[cell]!;
}

/** Flow along each edge, from `a` to `b`, that gives every cell its `gain`: unique, as the edges form no loop. */
export function treeFlows(edges: readonly Edge[], gain: Float64Array): Float64Array {
  const flows = new Float64Array(edges.length);
  const left = gain.slice();
  const degree = new Int32Array(gain.length);
  for (const { a, b } of edges) {
    degree[a]!++;
    degree[b]!++;
  }
  const done = new Uint8Array(edges.length);
  for (let round = 0; round < edges.length; round++) {
    const k = edges.findIndex(({ a, b }, j) => !done[j] && (degree[a] === 1 || degree[b] === 1));
    if (k < 0) break;
    const { a, b } = edges[k]!;
    // The leaf takes or gives all it has to through its only edge.
    if (degree[b] === 1) {
      flows[k] = left[b]!;
      left[a]! += left[b]!;
    } else {
      flows[k] = -left[a]!;
      left[b]! += left[a]!;
    }
    done[k] = 1;
    degree[a]!--;
    degree[b]!--;
  }
  return flows;
}

/** A cell as the flow passes it. */
interface Passing {
  readonly cell: number;
  /** Edges that bring and that take, with the flow along each (positive). */
  readonly into: readonly { readonly edge: number; readonly flow: number }[];
  readonly out: readonly { readonly edge: number; readonly flow: number }[];
}

/** The cells of one group while they settle. */
class Joined {
  constructor(
    private readonly gasConstant: number,
    private readonly exponent: number,
    private readonly mass: number[],
  ) {}

  /** Energies gain `gain`, evenly along the way, volumes standing: the flow between two cells carries energy gain · n. */
  level(edges: readonly Edge[], gain: Float64Array, energy: readonly number[], volumes: readonly number[]): void {
    const n = this.exponent;
    // Sources first: what a cell passes on is known once all that flows into it is.
    const order = inOrder(edges, treeFlows(edges, gain));
    const pressure = (cell: number, part: number): number =>
      volumes[cell]! > 0 ? ((n - 1) * (energy[cell]! + part * gain[cell]!)) / volumes[cell]! : 0;
    this.steps(order, edges.length, (cell, part) => ({
      size: volumes[cell]! * Math.pow(Math.max(0, pressure(cell, part)), 1 / n),
      perFlow: ((n - 1) / n) * Math.pow(Math.max(1e-300, pressure(cell, part)), 1 / n - 1),
    }));
  }

  /** Volumes change evenly at one common pressure that goes from `start` to `end`. */
  resize(
    edges: readonly Edge[],
    before: readonly number[],
    after: readonly number[],
    start: number,
    end: number,
  ): void {
    const from = before.map((v) => v * Math.pow(start, 1 / this.exponent));
    const to = after.map((v) => v * Math.pow(end, 1 / this.exponent));
    const order = inOrder(
      edges,
      treeFlows(
        edges,
        Float64Array.from(to, (w, k) => w - from[k]!),
      ),
    );
    this.steps(order, edges.length, (cell, part) => ({
      size: from[cell]! + part * (to[cell]! - from[cell]!),
      perFlow: 1,
    }));
  }

  private steps(
    order: readonly Passing[],
    edges: number,
    at: (cell: number, part: number) => { size: number; perFlow: number },
  ): void {
    // Once through one mixing volume is exact in a single step; through two, what the second takes in is itself changing on the way.
    const steps = mixesTwice(order) ? STEPS : 1;
    const carried = new Float64Array(edges);
    for (let step = 0; step < steps; step++) {
      for (const passing of order) {
        const was = at(passing.cell, step / steps);
        const is = at(passing.cell, (step + 1) / steps);
        const perFlow = at(passing.cell, (step + 0.5) / steps).perFlow;
        this.pass(passing, was.size, is.size, perFlow / steps, carried);
      }
    }
  }

  /** One step of one cell: what came in over the edges before it mixes, and what has to go goes on. */
  private pass({ cell, into, out }: Passing, was: number, is: number, perFlow: number, carried: Float64Array): void {
    const mass = this.mass[cell]!;
    const bringing = into.reduce((sum, { flow }) => sum + flow, 0);
    const taking = out.reduce((sum, { flow }) => sum + flow, 0);
    const brought = into.reduce((sum, { edge }) => sum + carried[edge]!, 0);
    let kept: number;
    if (taking <= 0) kept = mass + brought;
    else if (bringing <= 0) kept = was > 0 ? mass * (is / was) : 0;
    // Only taking: it mixes with nothing. Only giving: its tracer stays, so its mass goes with its w. Both: the closed form.
    else kept = mixed(mass, brought, was, is, inflow(was, is, bringing, taking, perFlow));
    // By difference, so that mass is conserved whatever the closed form rounds.
    const leaves = mass + brought - kept;
    for (const { edge, flow } of out) carried[edge] = (leaves * flow) / taking;
    this.mass[cell] = kept;
  }

  /** Masses as they are, temperatures from the pressure they share. */
  put(contents: Contents, cells: readonly number[], volumes: readonly number[], pressure: number): void {
    cells.forEach((cell, k) => {
      const mass = this.mass[k]!;
      contents.mass[cell] = mass;
      if (mass > 0 && volumes[k]! > 0)
        contents.temperature[cell] = (pressure * volumes[k]!) / (mass * this.gasConstant);
    });
  }
}

/** w that flows into a cell within a step; where in and out differ, what it has gained says it exactly. */
function inflow(was: number, is: number, bringing: number, taking: number, perFlow: number): number {
  // w gained = w in − w out in the ratio of the flows, so the gain gives the inflow without any integral; where they balance it does not.
  const net = bringing - taking;
  return Math.abs(net) > 1e-6 * (bringing + taking) ? ((is - was) * bringing) / net : bringing * perFlow;
}

/** Mass left in a cell that `brought` has flowed through, by dy/dw_in = (y_in − y)/w with w going evenly from `was` to `is`. */
function mixed(mass: number, brought: number, was: number, is: number, through: number): number {
  if (through <= 0) return was > 0 ? (mass + brought) * Math.min(1, is / was) : mass + brought;
  // y = mass per w: what comes in has `incoming` on average over the step; what was there had mass/was.
  const incoming = brought / through;
  // From nothing: all that is in it came in.
  if (was <= 0) return incoming * is;
  const change = is - was;
  const rest = Math.abs(change) > 1e-9 * was ? Math.pow(is / was, -through / change) : Math.exp(-through / was);
  return Math.min(mass + brought, (incoming + (mass / was - incoming) * rest) * is);
}

/** Cells in the order of the flow, those that it comes from first. */
function inOrder(edges: readonly Edge[], flows: Float64Array): Passing[] {
  const cells = [...new Set(edges.flatMap((edge) => [edge.a, edge.b]))];
  const passing = new Map(
    cells.map((cell) => [cell, { into: [] as Passing['into'][number][], out: [] as Passing['out'][number][] }]),
  );
  const waiting = new Map(cells.map((cell) => [cell, 0]));
  const next = new Map<number, number[]>(cells.map((cell) => [cell, []]));
  edges.forEach(({ a, b }, edge) => {
    const flow = flows[edge]!;
    if (flow === 0) return;
    const [from, to] = flow > 0 ? [a, b] : [b, a];
    passing.get(from)!.out.push({ edge, flow: Math.abs(flow) });
    passing.get(to)!.into.push({ edge, flow: Math.abs(flow) });
    waiting.set(to, waiting.get(to)! + 1);
    next.get(from)!.push(to);
  });
  const ready = cells.filter((cell) => waiting.get(cell) === 0);
  const order: Passing[] = [];
  for (let k = 0; k < ready.length; k++) {
    const cell = ready[k]!;
    order.push({ cell, ...passing.get(cell)! });
    for (const to of next.get(cell)!) {
      waiting.set(to, waiting.get(to)! - 1);
      // Along the flow there is no circle, since the edges form a tree.
      if (waiting.get(to) === 0) ready.push(to);
    }
  }
  return order;
}

/** Whether a cell that flow passes through gets it from another one that it passes through. */
function mixesTwice(order: readonly Passing[]): boolean {
  const through = order.filter(({ into, out }) => into.length > 0 && out.length > 0);
  return through.length > 1 || order.some(({ into, out }) => into.length > 1 && out.length > 0);
}
