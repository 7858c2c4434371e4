/**
 * A stroke over time, close enough to be drawn: steps of a program cut into parts, and what every cell holds after each of them.
 *
 * A part of a step is a step: connections stay as they are and doors move evenly, so either engine runs the parts as it runs the whole.
 * Invariant: parts of a step end where the whole does, and what opens with it opens with its first part.
 */
import type { CellNetwork } from './cells';
import { cellPressure } from './loads';
import type { Group, Program, Step } from './program';
import type { FlowEngine } from './rig-model';

/** What the cells hold at one moment of a stroke. */
export interface CoursePoint {
  /** µs from the start of the program; two points at one time where something happens at once. */
  readonly t: number;
  /** Per cell (chambers, then pockets): Pa, null where there is nothing that could press. */
  readonly pressure: readonly (number | null)[];
  /** Per cell: m3, kg and K. */
  readonly volume: readonly number[];
  readonly mass: readonly number[];
  readonly temperature: readonly number[];
  /** Per link of the network: kg/s downstream since the point before; 0 in no time, null where links join in a ring. */
  readonly flow: readonly (number | null)[];
}

/** Parts of a step in which doors move, and of one in which they stand: gas that has just been let in settles soon, so those are short at first. */
const MOVING = 32;
const STILL = 24;

/** Where the parts of a step end, as shares of it. */
function sharesOf(step: Step): number[] {
  if (step.span <= 0) return [1];
  const isMoving = step.from.some((x, door) => x !== step.to[door]);
  const count = isMoving ? MOVING : STILL;
  return Array.from({ length: count }, (_, k) => (isMoving ? (k + 1) / count : ((k + 1) / count) ** 2));
}

/** Moments of a program at which doors start or arrive, µs, each once. */
export const momentsOfProgram = ({ steps }: Program): number[] => [...new Set([0, ...steps.map((step) => step.t)])];

/** A step in parts, each a step. */
export function partsOfStep(step: Step): Step[] {
  const shares = sharesOf(step);
  return shares.map((to, k) => partOf(step, shares[k - 1] ?? 0, to));
}

function partOf(step: Step, from: number, to: number): Step {
  if (from === 0 && to === 1) return step;
  const between = (a: number, b: number, share: number): number => (share === 1 ? b : a + share * (b - a));
  const volumes = (share: number): Float64Array => step.before.map((v, cell) => between(v, step.after[cell]!, share));
  const positions = (share: number): number[] => step.from.map((x, door) => between(x, step.to[door]!, share));
  const start = step.t - step.span * 1e6;
  return {
    ...step,
    t: to === 1 ? step.t : start + to * step.span * 1e6,
    span: (to - from) * step.span,
    lineSeconds: step.lineSeconds.map((seconds) => (to - from) * seconds),
    groups: step.groups.map((group) => partOfGroup(group, from, to)),
    moves: to === 1 ? step.moves : [],
    before: volumes(from),
    after: volumes(to),
    from: positions(from),
    to: positions(to),
  };
}

function partOfGroup(group: Group, from: number, to: number): Group {
  const at = (share: number): number[] =>
    group.volumesBefore.map((v, k) => (share === 1 ? group.volumes[k]! : v + share * (group.volumes[k]! - v)));
  const [volumesBefore, volumes] = [at(from), at(to)];
  const sum = (values: readonly number[]): number => values.reduce((a, v) => a + v, 0);
  const edges = from === 0 ? group.edges : group.edges.map((edge) => ({ ...edge, fresh: false }));
  return { ...group, before: sum(volumesBefore), after: sum(volumes), volumesBefore, volumes, edges };
}

/** What the engine's cells hold now. `since`: the point before, from which flows count; `notShut`: doors away from shut since then. */
export function pointOf(
  engine: FlowEngine,
  t: number,
  volumes: Float64Array,
  since: CoursePoint | null,
  notShut: readonly boolean[],
): CoursePoint {
  const { model, contents } = engine;
  const mass = Array.from(contents.mass);
  const seconds = since ? (t - since.t) / 1e6 : 0;
  const gains = mass.map((m, cell) => (since && seconds > 0 ? (m - since.mass[cell]!) / seconds : 0));
  return {
    t,
    pressure: mass.map((_, cell) => cellPressure(model, contents, cell, volumes[cell]!)),
    volume: Array.from(volumes),
    mass,
    temperature: Array.from(contents.temperature),
    flow: flowsThrough(model.network, gains, notShut),
  };
}

/**
 * What passes each link, downstream, from what each cell gains. With feeds and draws off nothing else moves mass, so a cell with one link left
 * says what passes it; that one settled, its neighbour may have one left. Links that form a ring stay unknown.
 */
export function flowsThrough(
  { links }: CellNetwork,
  gains: readonly number[],
  notShut: readonly boolean[],
): (number | null)[] {
  const isOpen = links.map(({ gates }) => gates.every((door) => notShut[door]));
  const flow: (number | null)[] = links.map((_, k) => (isOpen[k] ? null : 0));
  const left = [...gains];
  for (;;) {
    const unknown = links.map((_, k) => k).filter((k) => flow[k] === null);
    const ends = (cell: number): number => unknown.filter((k) => links[k]!.a === cell || links[k]!.b === cell).length;
    const next = unknown.find((k) => ends(links[k]!.b) === 1 || ends(links[k]!.a) === 1);
    if (next === undefined) return flow;
    const { a, b } = links[next]!;
    const passed = ends(b) === 1 ? left[b]! : -left[a]!;
    flow[next] = passed;
    left[b]! -= passed;
    left[a]! += passed;
  }
}
