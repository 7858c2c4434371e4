/**
 * The differential equations of gas in volumes that openings join. Unknowns: the mass of each node; unless isothermal the internal
 * energy of each lump; the work of each moving pocket; and, where feeds or walls bring energy, the sum of that. What flows over takes
 * its enthalpy along, a moving pocket does work (first law for open volumes). The last two kinds are sums that nothing depends on: they
 * make the energy of a step add up.
 *
 * Within a lump (openings-nodes.ts) the pressure is one. For an ideal gas it follows from the energy of the lump alone, and each node's
 * share of that is its share of the volume: what has to pass between the nodes of a lump follows without any difference of pressure.
 *
 * Why energies and not temperatures as unknowns: energy is what is conserved, so that feeds, walls and doors add up whatever the steps; and
 * a lump of several temperatures has one energy but no one temperature. Why lumps: a wide passage between two cells as a flow in proportion
 * to their difference is the stiffest part of all, and its answer (no difference) is known beforehand.
 *
 * Invariants: Σ dm/dt over the nodes is what the lines bring; Σ dE/dt over the lumps is that of lines and walls less the work of the pockets;
 * so both sums can be settled exactly at the end (`settle`), whatever error the integration left in their parts.
 */
import type { CellNetwork } from './cells';
import type { Contents } from './contents';
import type { GasLaw } from './media/law';
import type { GasNozzle } from './nozzle';
import { beyondEdge, feedEnthalpy, lineRate, type VaryingLine, varyingLines } from './openings-lines';
import type { Nodes } from './openings-nodes';
import { coloursOf } from './newton-matrix';
import { fullVolume, leastVolume, nodesOf, passagesOf, type Passages } from './openings-nodes';
import type { Part } from './openings-parts';
import type { Step } from './program';
import type { FlowModel } from './rig-model';
import type { Derivative, Scale } from './sdirk';

/** Relative difference of pressures below which standing cells need no integration. */
const STILL = 1e-12;
/** Least mass of a node in a division, kg. */
const LEAST_MASS = 1e-18;

/** The equations of one part during one step; made once for a part and started anew with each stroke. */
export class PartFlow {
  readonly size: number;
  readonly derivative: Derivative;
  readonly colours: readonly (readonly number[])[];
  readonly rows: readonly (readonly number[])[];
  private readonly nodes: Nodes;
  private readonly isIsothermal: boolean;
  private readonly hasOther: boolean;
  private readonly law: GasLaw;
  private readonly network: CellNetwork;
  /** Nodes and lumps with an energy of their own. */
  /** Layout of the unknowns: masses of nodes, energies of lumps, works of moving pockets, amounts of varying lines, other energy. */
  private readonly n: number;
  private readonly energies: number;
  /** Per cell: temperature at the start, K. */
  private readonly cellTemperature: Float64Array;
  /** Per node. */
  private readonly temperature: Float64Array;
  private readonly density: Float64Array;
  private readonly pressure: Float64Array;
  /** J/kg of what is in a node and of what flows out of it. */
  private readonly energy: Float64Array;
  private readonly enthalpy: Float64Array;
  /** kg/s fed to a node and drawn from it: steadily, and now (with the lines that the contents turn on and off); J/kg that a feed brings. */
  private readonly steady: { readonly fed: Float64Array; readonly drawn: Float64Array };
  private readonly fed: Float64Array;
  private readonly drawn: Float64Array;
  private readonly feedEnthalpy: Float64Array;
  /** W into each node from elsewhere, and what it still needs from the others of its lump. */
  private readonly gain: Float64Array;
  private readonly varying: readonly VaryingLine[];
  /** Nodes of more than one cell; per node the temperature of its first cell, K. */
  private readonly several: readonly number[];
  private readonly wall: Float64Array;
  private readonly passages: Passages;
  /** Node of each moving pocket. */
  private readonly pushed: Int32Array;
  /** Of the varying lines: the part of the step that each is switched on for, and its first unknown. */
  private readonly share: Float64Array;
  private readonly firstVarying: number;
  private total = { mass: 0, energy: 0 };

  constructor(
    private readonly model: FlowModel & { readonly law: GasLaw },
    nozzle: GasNozzle,
    private readonly part: Part,
    contents: Contents,
  ) {
    const { law, network, lines, walls } = model;
    this.law = law;
    this.network = network;
    this.isIsothermal = law.exponent === 1;
    this.cellTemperature = Float64Array.from(part.cells, (cell) => contents.temperature[cell]!);
    // A real gas at several temperatures: a density of its own for each cell, and wide passages integrated.
    const isEven = law.isIdeal === true || this.cellTemperature.every((T) => T === this.cellTemperature[0]);
    const none = leastVolume(network);
    const hides = (k: number): boolean =>
      this.isIsothermal || law.isIdeal !== true || fullVolume(network, part.cells[k]!) <= none;
    this.nodes = nodesOf(part, hides, !this.isIsothermal || isEven);
    this.n = this.nodes.cells.length;
    this.energies = this.isIsothermal ? 0 : this.nodes.lumps;
    this.hasOther = !this.isIsothermal && (walls !== undefined || lines.some((l) => part.cells.includes(l.chamber)));
    this.varying = varyingLines(model, part, (place) => this.nodes.nodeOf[place]!);
    this.share = new Float64Array(this.varying.length);
    this.several = this.nodes.cells.flatMap((members, node) => (members.length > 1 ? [node] : []));
    this.passages = passagesOf(this.nodes, (door) => model.nozzles?.[door] ?? nozzle);
    this.pushed = Int32Array.from(part.movingPlaces, (place) => this.nodes.nodeOf[place]!);
    this.firstVarying = this.n + this.energies + part.moving.length;
    this.size = this.firstVarying + this.varying.length + (this.hasOther ? 1 : 0);
    const each = (): Float64Array => new Float64Array(this.n);
    this.wall = each();
    this.temperature = each();
    this.density = each();
    this.pressure = each();
    this.energy = each();
    this.enthalpy = each();
    this.steady = { fed: each(), drawn: each() };
    this.fed = each();
    this.drawn = each();
    this.feedEnthalpy = each();
    this.gain = each();
    this.derivative = this.isIsothermal ? this.isothermal() : this.energetic();
    ({ rows: this.rows, colours: this.colours } = this.structure());
  }

  /** Unknowns at the start of the step. `inflow`: per chamber what is fed and (negative) drawn steadily, kg/s. */
  start(contents: Contents, inflow: Float64Array, { lineSeconds, span }: Step): Float64Array {
    const { part, law, nodes, n, steady } = this;
    const y = new Float64Array(this.size);
    steady.fed.fill(0);
    steady.drawn.fill(0);
    const isFed = new Set(this.varying.flatMap(({ line, node }) => (line.sign > 0 ? [node] : [])));
    // A line that is switched on for a part of the step runs at that part of its rate throughout it.
    this.varying.forEach(({ index }, k) => (this.share[k] = (lineSeconds[index] ?? 0) / span));
    let [mass, energy] = [0, 0];
    part.cells.forEach((cell, k) => {
      const node = nodes.nodeOf[k]!;
      const m = contents.mass[cell]!;
      const T = contents.temperature[cell]!;
      y[node]! += m;
      mass += m;
      this.cellTemperature[k] = T;
      this.temperature[node] = T;
      if (cell < this.network.chambers) {
        steady.fed[node]! += inflow[2 * cell]!;
        steady.drawn[node]! -= inflow[2 * cell + 1]!;
      }
      if (this.isIsothermal) return;
      const density = m / part.volume[k]!;
      const joules = m > 0 ? m * law.energy(density, T) : 0;
      y[n + nodes.lumpOf[node]!]! += joules;
      energy += joules;
      if (steady.fed[node]! > 0 || isFed.has(node)) this.feedEnthalpy[node] = feedEnthalpy(law, density, T);
    });
    nodes.cells.forEach((members, node) => (this.wall[node] = this.cellTemperature[members[0]!]!));
    this.total = { mass, energy };
    return y;
  }

  /** Whether nothing would change: no movement, no feed, no heat, one pressure. */
  isStill(y: Float64Array): boolean {
    const { part, pressure } = this;
    if (part.moving.length > 0 || this.model.walls) return false;
    this.states(0, y);
    this.runLines();
    if (this.fed.some((q) => q !== 0) || this.drawn.some((q) => q !== 0)) return false;
    return this.nodes.passages.every(({ a, b }) => Math.abs(pressure[a]! - pressure[b]!) <= STILL * pressure[a]!);
  }

  /** Errors allowed: a part of what a pocket holds, not of a chamber a thousand times as large. */
  scale(relative: number, y: Float64Array): Scale {
    const { part, n, network, law, nodes } = this;
    const full = nodes.cells.map((members) => members.reduce((sum, k) => sum + fullVolume(network, part.cells[k]!), 0));
    // The smallest real volume sets the measure: an error that is nothing in a store of 10 m³ is everything in a pocket of 5 l.
    const reference = Math.min(...full.filter((v) => v > leastVolume(network)));
    // Errors are measured against the densest gas of the part filling its smallest volume: what one pocketful weighs.
    let densest = 0;
    for (let node = 0; node < n; node++) densest = Math.max(densest, y[node]! / nodes.volume[node]!);
    const mass = Math.max(1e-12, reference * densest);
    const heat = mass * ((law.gasConstant * law.temperature) / (Math.max(law.exponent, 1.05) - 1));
    const work = mass * law.gasConstant * law.temperature;
    const of = (k: number): number => {
      if (k < n) return Math.max(1e-15, Math.min(mass, full[k]! * densest));
      if (k >= this.firstVarying && k < this.firstVarying + this.varying.length) return mass;
      return k < n + this.energies ? heat : work;
    };
    return {
      relative,
      switched: this.varying.flatMap(({ line }, k) =>
        line.only
          ? [
              {
                unknown: this.firstVarying + k,
                most: line.rateAt ? Infinity : this.share[k]! * line.rate,
                beyond: (t: number, state: Float64Array) => this.beyond(k, t, state),
              },
            ]
          : [],
      ),
      absolute: Float64Array.from({ length: this.size }, (_, k) => 0.1 * relative * of(k)),
      ceiling: Float64Array.from({ length: this.size }, (_, k) => of(k)),
    };
  }

  /** What the integration has left over goes to the largest node, so that mass and energy add up to the last bit. */
  settle(y: Float64Array, seconds: number): void {
    const { n, total, nodes } = this;
    let mass = total.mass;
    let energy = total.energy + (this.hasOther ? y[this.size - 1]! : 0);
    this.work(y).forEach((joules) => (energy += joules));
    let largest = 0;
    for (let k = 0; k < n; k++) {
      if (nodes.volume[k]! > nodes.volume[largest]!) largest = k;
      mass += (this.steady.fed[k]! - this.steady.drawn[k]!) * seconds;
      // Below empty by the tolerance of the integration: what is cut off here comes out of the largest node with the rest.
      if (y[k]! < 0) y[k] = 0;
    }
    this.varying.forEach(({ line }, k) => (mass += line.sign * y[this.firstVarying + k]!));
    for (let k = 0; k < n; k++) if (k !== largest) mass -= y[k]!;
    y[largest] = Math.max(0, mass);
    const lump = nodes.lumpOf[largest]!;
    for (let k = 0; k < this.energies; k++) if (k !== lump) energy -= y[n + k]!;
    if (!this.isIsothermal) y[n + lump] = energy;
  }

  /** Puts unknowns at `t` s into the step back into the cells. */
  put(contents: Contents, y: Float64Array, t: number): void {
    const { part, nodes } = this;
    this.states(t, y);
    nodes.cells.forEach((members, node) => {
      const shares = members.map(
        (k) => (part.volume[k]! + part.growth[k]! * t) / (this.isIsothermal ? this.cellTemperature[k]! : 1),
      );
      const all = shares.reduce((sum, s) => sum + s, 0);
      // Shares by volume (isothermal: by volume over temperature), the last cell taking what is left, so that the node's mass is kept exactly.
      let left = Math.max(0, y[node]!);
      members.forEach((k, i) => {
        const cell = part.cells[k]!;
        const mass = i === members.length - 1 ? left : (Math.max(0, y[node]!) * shares[i]!) / all;
        contents.mass[cell] = mass;
        left -= mass;
        if (!this.isIsothermal && mass > 0) contents.temperature[cell] = this.temperature[node]!;
      });
    });
  }

  /** Work of each moving pocket, J. */
  work(y: Float64Array): Float64Array {
    const first = this.n + this.energies;
    return y.subarray(first, first + this.part.moving.length);
  }

  /** What each line moved that the contents turn on and off: its index, and kg. */
  moved(y: Float64Array): (readonly [line: number, mass: number])[] {
    return this.varying.map(({ index }, k) => [index, y[this.firstVarying + k]!]);
  }

  /** Volumes of all cells at `t` s into the step. */
  volumesAt(step: Step, t: number): Float64Array {
    const volumes = step.before.slice();
    this.part.cells.forEach((cell, k) => (volumes[cell] = this.part.volume[k]! + this.part.growth[k]! * t));
    return volumes;
  }

  /** Equations that an unknown stands in, and groups of unknowns that share none. */
  private structure(): { rows: number[][]; colours: number[][] } {
    const { part, n, size, nodes } = this;
    const lumpOf = (node: number): number => nodes.lumpOf[node]!;
    // A state of one lump acts on that lump and on those next to it: the Jacobian is sparse in a known way.
    const near = Array.from({ length: nodes.lumps }, (_, lump) => new Set([lump]));
    for (const { a, b } of nodes.passages) {
      near[lumpOf(a)]!.add(lumpOf(b));
      near[lumpOf(b)]!.add(lumpOf(a));
    }
    const states = n + this.energies;
    const rows = Array.from({ length: size }, (_, j): number[] => {
      if (j >= states) return [];
      const lumps = near[j < n ? lumpOf(j) : j - n]!;
      const masses = Array.from({ length: n }, (_u, node) => node).filter((node) => lumps.has(lumpOf(node)));
      const heats = this.isIsothermal ? [] : [...lumps].map((lump) => n + lump);
      const works = part.movingPlaces.flatMap((place, k) =>
        lumps.has(lumpOf(nodes.nodeOf[place]!)) ? [states + k] : [],
      );
      const moved = this.varying.flatMap(({ node }, k) => (lumps.has(lumpOf(node)) ? [this.firstVarying + k] : []));
      return [...masses, ...heats, ...works, ...moved, ...(this.hasOther ? [size - 1] : [])];
    });
    return { rows, colours: coloursOf(rows, states) };
  }

  /** Densities, pressures, temperatures and enthalpies of the nodes at (t, y). */
  private states(t: number, y: Float64Array): void {
    if (this.isIsothermal) this.isothermalStates(t, y);
    else if (this.law.isIdeal) this.idealStates(t, y);
    else this.realStates(t, y);
  }

  /** Isothermal: the mass of a node gives its density, its temperature is that of the walls. */
  private isothermalStates(t: number, y: Float64Array): void {
    const { law, n, density, pressure, wall } = this;
    const { volume, growth } = this.nodes;
    const { gasConstant } = law;
    const isIdeal = law.isIdeal === true;
    for (let node = 0; node < n; node++) {
      const mass = y[node]! > LEAST_MASS ? y[node]! : LEAST_MASS;
      const rho = mass / (volume[node]! + growth[node]! * t);
      density[node] = rho;
      pressure[node] = isIdeal ? rho * gasConstant * wall[node]! : law.pressure(rho, wall[node]!);
    }
    if (isIdeal && this.several.length > 0) this.sharePressure(t, y);
  }

  /** Cells of one node at different wall temperatures: p = m R / Σ (V/T), the ideal gas at one pressure. */
  private sharePressure(t: number, y: Float64Array): void {
    const { part, law, nodes, pressure, cellTemperature } = this;
    for (const node of this.several) {
      let perPressure = 0;
      for (const k of nodes.cells[node]!) {
        perPressure += (part.volume[k]! + part.growth[k]! * t) / cellTemperature[k]!;
      }
      pressure[node] = (Math.max(LEAST_MASS, y[node]!) * law.gasConstant) / perPressure;
    }
  }

  /** Ideal gas without given temperatures: pressure from the energy of the lump, temperature from pressure and density. */
  private idealStates(t: number, y: Float64Array): void {
    const { law, n, nodes, density, pressure, temperature, enthalpy, energy } = this;
    const { exponent, gasConstant } = law;
    for (let node = 0; node < n; node++) {
      const lump = nodes.lumpOf[node]!;
      const volume = nodes.volume[node]! + nodes.growth[node]! * t;
      density[node] = Math.max(LEAST_MASS, y[node]!) / volume;
      // p V = (n − 1) E: one pressure for the lump, whatever the temperatures of its nodes.
      const p = (Math.max(0, y[n + lump]!) * (exponent - 1)) / (nodes.lumpVolume[lump]! + nodes.lumpGrowth[lump]! * t);
      pressure[node] = p;
      temperature[node] = p / (density[node]! * gasConstant);
      energy[node] = p / (density[node]! * (exponent - 1));
      enthalpy[node] = energy[node]! * exponent;
    }
  }

  /** Real gas: temperature from density and energy, by iteration. */
  private realStates(t: number, y: Float64Array): void {
    const { law, n, nodes, density, pressure, temperature, enthalpy, energy } = this;
    for (let node = 0; node < n; node++) {
      const mass = Math.max(LEAST_MASS, y[node]!);
      density[node] = mass / (nodes.volume[node]! + nodes.growth[node]! * t);
      energy[node] = y[n + nodes.lumpOf[node]!]! / mass;
      // Newton from the temperature of the evaluation before, which lies close by.
      temperature[node] = law.temperatureOf(density[node]!, energy[node]!, temperature[node]!);
      pressure[node] = law.pressure(density[node]!, temperature[node]!);
      enthalpy[node] = energy[node]! + pressure[node]! / density[node]!;
    }
  }

  /** How far varying line `k` is beyond its condition. */
  private beyond(k: number, t: number, y: Float64Array): number {
    this.states(t, y);
    const { line, node, place } = this.varying[k]!;
    return beyondEdge(line.only!, this.densityAt(node, place), this.pressure[node]!, this.part.volume[place]!);
  }

  /** Density of the cell at `place`, kg/m3, in its node. */
  private densityAt(node: number, place: number): number {
    const isOwn = !this.isIsothermal || this.law.isIdeal !== true;
    if (isOwn) return this.density[node]!;
    return this.pressure[node]! / (this.law.gasConstant * this.cellTemperature[place]!);
  }

  /** Feeds and draws as the contents stand: `fed` and `drawn` of each node. */
  private runLines(into?: Float64Array): void {
    const { steady, fed, drawn, varying, pressure, temperature, part } = this;
    // Steady lines bring what the balance level would, spread over the step; those that depend on the contents are asked at each evaluation.
    for (let k = 0; k < this.n; k++) {
      fed[k] = steady.fed[k]!;
      drawn[k] = steady.drawn[k]!;
    }
    for (let k = 0; k < varying.length; k++) {
      const { line, node, place } = varying[k]!;
      const T = this.isIsothermal ? this.cellTemperature[place]! : temperature[node]!;
      const q = this.share[k]! * lineRate(line, this.densityAt(node, place), pressure[node]!, part.volume[place]!, T);
      if (line.sign > 0) fed[node]! += q;
      else drawn[node]! += q;
      if (into) into[this.firstVarying + k] = q;
    }
  }

  /** Mass flow through passage `k` from its `a` to its `b`, kg/s. */
  private flow(k: number, t: number): number {
    const { pressure, density, passages } = this;
    const [a, b] = [passages.a[k]!, passages.b[k]!];
    const [pa, pb] = [pressure[a]!, pressure[b]!];
    const wide = passages.wide[k]!;
    if (wide > 0) {
      // Upwind: density and enthalpy are those of the side that it flows from. No ratio of pressures yet: the flow of a wide passage is linear.
      const up = pa >= pb ? a : b;
      return pressure[up]! > 0 ? (density[up]! * wide * (pa - pb)) / pressure[up]! : 0;
    }
    // Upwind: density and enthalpy are those of the side that it flows from.
    const open = passages.area[k]! + passages.widening[k]! * t;
    if (open <= 0) return 0;
    const nozzle = passages.nozzles[k]!;
    if (pa >= pb) return pa > 0 ? open * nozzle.flux(pa, density[a]!, pb / pa) : 0;
    return -open * nozzle.flux(pb, density[b]!, pa / pb);
  }

  /** Power of each moving pocket on its contents, W: −p dV/dt. */
  private works(into: Float64Array): void {
    const { part, pressure, pushed } = this;
    const first = this.n + this.energies;
    for (let k = 0; k < pushed.length; k++)
      into[first + k] = -pressure[pushed[k]!]! * part.growth[part.movingPlaces[k]!]!;
  }

  /** Derivative of masses alone: energies are fixed by the temperatures. */
  private isothermal(): Derivative {
    const { n, fed, drawn } = this;
    const { a, b } = this.passages;
    return (t, y, into) => {
      this.isothermalStates(t, y);
      this.runLines(into);
      for (let k = 0; k < n; k++) into[k] = fed[k]! - drawn[k]!;
      for (let k = 0; k < a.length; k++) {
        const q = this.flow(k, t);
        // What leaves one side enters the other: mass is conserved term by term.
        into[a[k]!]! -= q;
        into[b[k]!]! += q;
      }
      this.works(into);
    };
  }

  /** Derivative of masses and energies. */
  private energetic(): Derivative {
    const { n, nodes, passages, fed, drawn, pressure, enthalpy, gain, size } = this;
    return (t, y, into) => {
      this.states(t, y);
      this.runLines(into);
      let other = 0;
      for (let k = 0; k < n; k++) {
        into[k] = fed[k]! - drawn[k]!;
        const brought = this.brought(k, y);
        other += brought;
        // First law of a node: enthalpy in and out (below), heat, and −p dV.
        gain[k] = brought - pressure[k]! * nodes.growth[k]!;
      }
      for (let k = 0; k < passages.a.length; k++) {
        const [a, b] = [passages.a[k]!, passages.b[k]!];
        const q = this.flow(k, t);
        const carried = q * enthalpy[q > 0 ? a : b]!;
        into[a]! -= q;
        into[b]! += q;
        gain[a]! -= carried;
        gain[b]! += carried;
      }
      for (let lump = 0; lump < nodes.lumps; lump++) into[n + lump] = 0;
      for (let k = 0; k < n; k++) into[n + nodes.lumpOf[k]!]! += gain[k]!;
      if (nodes.inner.length > 0) this.passWithin(t, y, into);
      this.works(into);
      if (this.hasOther) into[size - 1] = other;
    };
  }

  /** W that feeds, draws and walls bring to a node. */
  private brought(node: number, y: Float64Array): number {
    const { fed, drawn, feedEnthalpy, enthalpy, nodes, part, law, density, temperature, energy } = this;
    const { walls } = this.model;
    let watts = fed[node]! * feedEnthalpy[node]! - drawn[node]! * enthalpy[node]!;
    if (!walls) return watts;
    // Cells that are one node pass heat by the time constant of one for its share of the mass.
    const members = nodes.cells[node]!;
    for (const k of members) {
      const cell = part.cells[k]!;
      const share = members.length === 1 ? 1 : part.volume[k]! / nodes.volume[node]!;
      const mass = share * Math.max(LEAST_MASS, y[node]!);
      watts += walls.watts(cell, mass, temperature[node]!, (T) => law.energy(density[node]!, T) - energy[node]!);
    }
    return watts;
  }

  /** Masses that pass between the nodes of a lump, so that each keeps its share of the lump's energy. */
  private passWithin(t: number, y: Float64Array, into: Float64Array): void {
    const { n, nodes, gain, enthalpy } = this;
    for (let k = 0; k < n; k++) {
      const lump = nodes.lumpOf[k]!;
      const whole = nodes.lumpVolume[lump]! + nodes.lumpGrowth[lump]! * t;
      const own = nodes.volume[k]! + nodes.growth[k]! * t;
      // Node k must hold E · V_k / V of its lump. The derivative of that, less what it gains by itself, has to pass to it from the others.
      const widens = (nodes.growth[k]! * whole - own * nodes.lumpGrowth[lump]!) / (whole * whole);
      gain[k] = (into[n + lump]! * own) / whole + y[n + lump]! * widens - gain[k]!;
    }
    for (const { leaf, stem } of nodes.inner) {
      // A leaf has one edge, so the flow over it is known; with the leaf off, the next one is a leaf.
      const joules = gain[leaf]!;
      gain[stem]! += joules;
      const q = joules / enthalpy[joules > 0 ? stem : leaf]!;
      into[leaf]! += q;
      into[stem]! -= q;
    }
  }
}
