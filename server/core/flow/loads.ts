/**
 * What a step of a stroke asks of its doors: pressure differences across them, pressure in a closing pocket, power. These size a real door:
 * its drive must open against the greatest difference and close against the pocket's pressure. Each is the extreme over the stroke, with its
 * sign, so the arrays only ever grow in size. Differences are taken before a step, while they are still there.
 */
import type { FlowModel } from './rig-model';
import { GRAVITY } from './media/constants';
import type { Step } from './program';
import type { Contents } from './contents';
import { pocketPressure, pressureOf, workFrom } from './vessel';
import type { DoorLoad } from './watch';

/** Cells on the two sides of each door; -1 where a stack ends there. */
interface Sides {
  readonly upstream: Int32Array;
  readonly downstream: Int32Array;
}

const SIDES = new WeakMap<FlowModel['network'], Sides>();

/** Computed once a network. */
function sidesOf(network: FlowModel['network']): Sides {
  let sides = SIDES.get(network);
  if (!sides) {
    sides = { upstream: new Int32Array(network.doors).fill(-1), downstream: new Int32Array(network.doors).fill(-1) };
    for (const { a, b } of network.links) {
      if (b >= network.chambers) sides.upstream[b - network.chambers] = a;
      if (a >= network.chambers) sides.downstream[a - network.chambers] = b;
    }
    SIDES.set(network, sides);
  }
  return sides;
}

/** Pressure in a cell, Pa: of a liquid at the lowest place of the rig; null where there is nothing that could press. */
export function cellPressure(model: FlowModel, contents: Contents, cell: number, volume: number): number | null {
  const { law, vessels, network } = model;
  const mass = contents.mass[cell]!;
  const temperature = contents.temperature[cell]!;
  if (cell >= network.chambers) return volume > 0 ? pocketPressure(law, volume, mass, temperature) : null;
  const pressure = pressureOf(law, vessels[cell]!, mass, temperature);
  if (pressure === null || law.phase !== 'liquid') return pressure;
  const low = vessels.reduce((z, vessel) => Math.min(z, vessel.elevation), Infinity);
  return pressure + law.referenceDensity * GRAVITY * (vessels[cell]!.elevation - low);
}

/** Pressure beyond a door on one side; a pocket of no volume hands on what stands behind it. */
function beyond(model: FlowModel, contents: Contents, volumes: Float64Array, cell: number, next: Int32Array): number {
  const { chambers } = model.network;
  // A door without a pocket is not a space by itself: what presses on its neighbour is the next space along the stack.
  for (let at = cell; at >= 0; at = at >= chambers ? next[at - chambers]! : -1) {
    const pressure = cellPressure(model, contents, at, volumes[at]!);
    if (pressure !== null) return pressure;
  }
  return 0;
}

/** Whether a door sweeps anything: a plain valve squeezes nothing as it shuts. */
const hasPocket = ({ network }: FlowModel, door: number): boolean => network.open[door]! > network.shut[door]!;

/** Notes the difference of pressure across every door that leaves its seat or moves with this step; ask before the step is run. */
export function noteStart(model: FlowModel, contents: Contents, step: Step, loads: DoorLoad): void {
  if (model.law.phase === 'packed') return;
  const { chambers, doors } = model.network;
  for (let door = 0; door < doors; door++) {
    const [from, to] = [step.from[door]!, step.to[door]!];
    // A door leaves its seat in the step that only changes connections: nothing has moved yet, and the full difference stands across it.
    // An instant between two steps of one closing does not begin it anew.
    const begins = from > to && !loads.closes[door];
    if (step.span > 0 || from > to) loads.closes[door] = from > to ? 1 : 0;
    const leaves = step.span === 0 && from === 0 && to === 0 && step.notShut[door]!;
    if (!leaves && from === to) continue;
    noteDifference(model, contents, step.before, door, from > to ? loads.closing : loads.opening);
    if (from <= to) continue;
    const pressure = cellPressure(model, contents, chambers + door, step.before[chambers + door]!) ?? 0;
    if (begins) loads.rest[door] = Math.max(loads.rest[door]!, pressure);
    if (hasPocket(model, door)) loads.peak[door] = Math.max(loads.peak[door]!, pressure);
  }
}

/** Keeps the difference across a door, upstream less downstream, if it is the greatest so far. */
function noteDifference(
  model: FlowModel,
  contents: Contents,
  volumes: Float64Array,
  door: number,
  into: Float64Array,
): void {
  const { upstream, downstream } = sidesOf(model.network);
  if (upstream[door]! < 0 || downstream[door]! < 0) return;
  const difference =
    beyond(model, contents, volumes, upstream[door]!, upstream) -
    beyond(model, contents, volumes, downstream[door]!, downstream);
  if (Math.abs(difference) > Math.abs(into[door]!)) into[door] = difference;
}

/** Notes differences, pressures in closing pockets and powers at `volumes`, within a step or at its end. */
export function notePockets(
  model: FlowModel,
  contents: Contents,
  step: Step,
  loads: DoorLoad,
  volumes: Float64Array = step.after,
): void {
  if (step.span <= 0 || model.law.phase === 'packed') return;
  const { chambers, doors } = model.network;
  const base = workFrom(model.law);
  for (let door = 0; door < doors; door++) {
    const [from, to] = [step.from[door]!, step.to[door]!];
    if (from === to) continue;
    const cell = chambers + door;
    const pressure = cellPressure(model, contents, cell, volumes[cell]!);
    const rate = (step.before[cell]! - step.after[cell]!) / step.span;
    if (pressure !== null && rate > 0) loads.power[door] = Math.max(loads.power[door]!, (pressure - base) * rate);
    if (from < to) continue;
    if (pressure !== null && hasPocket(model, door)) loads.peak[door] = Math.max(loads.peak[door]!, pressure);
    // Once shut it is the seat that carries the difference, not the drive.
    if (to > 0) noteDifference(model, contents, volumes, door, loads.closing);
  }
}
