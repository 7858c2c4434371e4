/**
 * What the text of a rig states as meant: doors wanted open together, kept apart, in an order, in a sequence, open at rest, and paths
 * that must never stand open. Checks, timing, proof and drawings all ask here.
 */
import { conditionOf, doorsNamed, fold, isDriven } from './logic';
import { knownLogic, type Known } from './steady';
import type { Condition, Requirement, Rig, Sequence } from './rig';
import { crossingPaths, pathsFrom, pathStarts } from './stages';
import type { Path } from './stages';
import { say } from '../words/say';

/** What is stated about two doors; several requirements of one kind in the order of the text. */
export interface PairIntent {
  /** `overlap` requirements that name both, whether they want an overlap or limit it. */
  readonly overlaps: readonly Requirement[];
  readonly gaps: readonly Requirement[];
  /** `never` requirements that name both, whatever they say of them (see `forbidsTogether`). */
  readonly nevers: readonly Requirement[];
  readonly orders: readonly Requirement[];
  /** A sequence that has both open at the same time. */
  readonly sequence: Sequence | null;
}

/** What the text says of a pair of doors, in either order. */
export function pairIntent(rig: Rig, a: number, b: number): PairIntent {
  const about = (metric: string): Requirement[] =>
    rig.requirements.filter((r) => {
      const doors = r.metric === metric ? doorsNamed(rig, r) : [];
      return doors.includes(a) && doors.includes(b);
    });
  return {
    overlaps: about('overlap'),
    gaps: about('gap'),
    nevers: about('never'),
    orders: about('order'),
    sequence: rig.sequences.find((s) => opensTogether(s, a, b)) ?? null,
  };
}

/**
 * Whether a `never` requirement keeps two doors from being open together: its condition may be true with both off their seats, and is
 * not with either of them shut. `never(a and not b)` names both, and asks for the opposite.
 */
export function forbidsTogether(rig: Rig, requirement: Requirement, a: number, b: number): boolean {
  const condition = requirement.metric === 'never' ? conditionOf(rig, requirement.args[0]) : null;
  if (!condition) return false;
  const known = (open: ReadonlyMap<number, boolean>): Known => knownOf(condition, open);
  const both = new Map([
    [a, true],
    [b, true],
  ]);
  return known(both) !== false && known(new Map([[a, false]])) === false && known(new Map([[b, false]])) === false;
}

const knownOf = (condition: Condition, open: ReadonlyMap<number, boolean>): Known =>
  fold<Known>(condition, { ...knownLogic, net: () => null, door: (door) => open.get(door) ?? null });

/** Whether the text says anything about how the two stand to each other: then that is judged, and nothing is assumed. */
export function isPairStated(rig: Rig, a: number, b: number): boolean {
  const { overlaps, gaps, nevers, orders, sequence } = pairIntent(rig, a, b);
  return sequence !== null || [overlaps, gaps, nevers, orders].some((list) => list.length > 0);
}

/**
 * Whether the two doors are wanted open together for some time: by an `overlap` requirement whose least value is above 0 s, or by a
 * sequence that opens them together.
 */
export function isOverlapWanted(rig: Rig, a: number, b: number): boolean {
  return isOverlapRequired(rig, a, b) || rig.sequences.some((s) => opensTogether(s, a, b));
}

/** The same by requirements alone: what excuses a whole path. */
export function isOverlapRequired(rig: Rig, a: number, b: number): boolean {
  return pairIntent(rig, a, b).overlaps.some(wantsSome);
}

/** Whether a requirement of a length cannot be kept with 0: `>= 0 s`, `= 0 s` and `in 0 s .. 1 s` ask for nothing. */
export function wantsSome({ comparison }: Requirement): boolean {
  if (!comparison) return false;
  const { operator, low } = comparison;
  if (operator === '>') return low.nominal >= 0;
  if (operator === '=') return low.min > 0;
  return (operator === '>=' || operator === 'in') && low.nominal > 0;
}

/** Whether a sequence holds both doors open at the same time, by the nominal times of its steps. */
export function opensTogether(sequence: Sequence, a: number, b: number): boolean {
  // Of steps at one time those that close come first: a door handed over to the next is not open with it.
  const steps = [...sequence.steps].sort((x, y) => x.at.nominal - y.at.nominal || Number(x.open) - Number(y.open));
  const open = new Set<number>();
  return steps.some((step) => {
    for (const door of step.doors) {
      if (step.open) open.add(door);
      else open.delete(door);
    }
    return open.has(a) && open.has(b);
  });
}

// ---------------------------------------------------------------- paths

const KEPT_SHUT = new WeakMap<Rig, readonly Path[]>();

/**
 * Paths that must never have all their doors off their seats at once: between any two chambers along a stack, chambers in between
 * included, with two doors or more (a single one is a valve); and past the vent of a lock: over into another stack in a chamber that
 * stands between two doors, where something but air of the room may blow. Left out are those whose every pair of doors has an `overlap`
 * requirement that wants it, and those that contain a shorter one: when they stand open, so does that. A sequence does not excuse it.
 */
export function pathsToKeepShut(rig: Rig): readonly Path[] {
  let paths = KEPT_SHUT.get(rig);
  if (!paths) KEPT_SHUT.set(rig, (paths = shortestPaths(rig)));
  return paths;
}

const holds = (long: Path, short: Path): boolean => short.doors.every((door) => long.doors.includes(door));

function shortestPaths(rig: Rig): Path[] {
  const along = rig.stacks.flatMap((stack, index) => {
    const nearest = pathStarts(stack).flatMap((start) => nearestPath(rig, index, start) ?? []);
    return nearest.filter((path, i) =>
      nearest.every((other, j) => i === j || !holds(path, other) || (holds(other, path) && i < j)),
    );
  });
  const known = [...along];
  for (const path of crossingPaths(rig, (doors) => doors.length === 1 || isPathMeant(rig, doors))) {
    const { doors, upstream, downstream, over } = path;
    if (doors.length < 2 || isPathMeant(rig, doors) || known.some((other) => holds(path, other))) continue;
    // Two stacks that merely meet in a vessel are two stages with valves of their own.
    if (isLock(rig, over) && !(isAtAir(rig, upstream) && isAtAir(rig, downstream))) known.push(path);
  }
  return known;
}

/** Whether a chamber stands between two doors of a stack. */
const isLock = ({ stacks }: Rig, chamber: number): boolean =>
  stacks.some(({ members }) =>
    members.some(
      ({ kind, index }, i) =>
        kind === 'chamber' && index === chamber && members[i - 1]?.kind === 'door' && members[i + 1]?.kind === 'door',
    ),
  );

/** Of a standard atmosphere, Pa: what is stated in round figures is the same. */
const AIR = { least: 0.95e5, most: 1.05e5 };

/** Whether the end of a path is the room: the atmosphere, or a chamber that starts as it and that nothing feeds. */
function isAtAir({ chambers, lines }: Rig, index: number): boolean {
  const chamber = chambers[index];
  if (!chamber) return true;
  if (lines.some((line) => line.kind === 'feed' && line.chamber === index)) return false;
  const { pressure, density, mass, level } = chamber;
  if (density || mass || level) return false;
  return !pressure || (pressure.nominal >= AIR.least && pressure.nominal <= AIR.most);
}

/** The shortest path from a place of a stack that has two doors and is not meant to stand open. */
function nearestPath(rig: Rig, stack: number, start: number): Path | null {
  for (const path of pathsFrom(rig, stack, start)) {
    if (path.doors.length > 1 && !isPathMeant(rig, path.doors)) return path;
  }
  return null;
}

/** Whether every pair of the doors is required to overlap. */
function isPathMeant(rig: Rig, doors: readonly number[]): boolean {
  return doors.every((a, i) => doors.slice(i + 1).every((b) => isOverlapRequired(rig, a, b)));
}

/** A switch that is meant to open a whole path when it is thrown. */
export interface Vent {
  /** Index into `switches`. */
  readonly switch: number;
  readonly net: number;
  /** Value of its net while it is thrown: the other than at the start. */
  readonly thrown: boolean;
  readonly path: Path;
}

/** The vents of a rig; those whose two chambers no stack joins are left out (and reported by a check). */
export function ventsOf(rig: Rig): Vent[] {
  return rig.switches.flatMap(({ vents, net, initial }, index) => {
    const path = vents && pathBetween(rig, vents.chambers);
    return path ? [{ switch: index, net, thrown: !initial, path }] : [];
  });
}

/** The path between two chambers along the first stack that joins them, or over two stacks, in either order; null where none does. */
export function pathBetween(rig: Rig, [a, b]: readonly [number, number]): Path | null {
  const joins = ({ upstream, downstream }: Path): boolean =>
    a !== b && [a, b].every((end) => end === upstream || end === downstream);
  for (const [index, stack] of rig.stacks.entries()) {
    for (const start of pathStarts(stack)) {
      for (const path of pathsFrom(rig, index, start)) {
        if (joins(path)) return path;
      }
    }
  }
  return [...crossingPaths(rig, () => true)].find(joins) ?? null;
}

/** The vents that are meant to open a path: all of its doors stand on theirs. */
export function ventsOfPath(rig: Rig, { doors }: Path): Vent[] {
  return ventsOf(rig).filter((vent) => doors.every((door) => vent.path.doors.includes(door)));
}

/** "receiver to store": the chambers that a path joins. */
export function endsOf(rig: Rig, { upstream, downstream }: Path): string {
  return say`${rig.chambers[upstream]?.name ?? say`one end`} to ${rig.chambers[downstream]?.name ?? say`the other end`}`;
}

// ---------------------------------------------------------------- rest, and single items

/** Where a door stands while the rig does nothing: open only where it rests open and nothing drives it. */
export function idlesOpen(rig: Rig, door: number): boolean {
  // A drive that is off shuts the door as long as there is power.
  return rig.doors[door]!.rest === 'open' && !isDriven(rig, door);
}

/** Whether the text says that a door is meant to stand open: it rests open, or `require stands_open(door)`. */
export function isMeantToStandOpen(rig: Rig, door: number): boolean {
  return rig.doors[door]!.rest === 'open' || isStated(rig, 'stands_open', 'door', door);
}

/** Whether a requirement of this metric names the item. */
export function isStated(rig: Rig, metric: string, of: 'door' | 'signal', index: number): boolean {
  return rig.requirements.some(
    (r) => r.metric === metric && r.args.some((a) => a.kind === 'item' && a.of === of && a.index === index),
  );
}

/** Whether any requirement of this metric exists. */
export function isRequired(rig: Rig, metric: string): boolean {
  return rig.requirements.some((r) => r.metric === metric);
}
