/** What a stack joins: its stages (the doors between one chamber and the next) and the paths along it. */
import type { Rig, Stack } from './rig';

/** The doors of a stack between two of its chambers, chambers in between passed over. */
export interface Path {
  readonly stack: number;
  /** Index into `chambers`; -1 where the stack begins or ends with a door. */
  readonly upstream: number;
  readonly downstream: number;
  /** Doors in order, upstream first, each once. */
  readonly doors: readonly number[];
}

/** A path between neighbouring chambers. */
export type Stage = Path;

/** All stages with at least one door. */
export function stagesOf(rig: Rig): Stage[] {
  return rig.stacks.flatMap((stack, index) => {
    const stages: Stage[] = [];
    let upstream = -1;
    let doors: number[] = [];
    for (const member of stack.members) {
      if (member.kind === 'door') {
        doors.push(member.index);
        continue;
      }
      if (doors.length > 0) stages.push({ stack: index, upstream, downstream: member.index, doors });
      upstream = member.index;
      doors = [];
    }
    if (doors.length > 0) stages.push({ stack: index, upstream, downstream: -1, doors });
    return stages;
  });
}

/** Where paths of a stack may begin: places of its chambers, and -1 before a door that comes first. */
export function pathStarts({ members }: Stack): number[] {
  const chambers = members.flatMap((m, i) => (m.kind === 'chamber' ? [i] : []));
  return members[0]?.kind === 'door' ? [-1, ...chambers] : chambers;
}

/** The paths from a place of `pathStarts` to the chambers downstream, then to the end of the stack; the nearest first, those without a door left out. */
export function* pathsFrom(rig: Rig, stack: number, start: number): Generator<Path> {
  const { members } = rig.stacks[stack]!;
  const doors = new Set<number>();
  for (let i = start + 1; i <= members.length; i++) {
    const member = members[i];
    if (member?.kind === 'door') {
      doors.add(member.index);
      continue;
    }
    // A chamber at the very end leaves nothing behind it.
    if (doors.size === 0 || (member === undefined && members[i - 1]?.kind !== 'door')) continue;
    yield { stack, upstream: members[start]?.index ?? -1, downstream: member?.index ?? -1, doors: [...doors] };
  }
}

/** `over`: the chamber of both stacks. */
export interface CrossingPath extends Path {
  readonly over: number;
}

/**
 * The paths that go over from one stack to another in a chamber of both, the way the stacks lead: a vent of a chamber between two doors, say.
 * @param enters which doors may come before the crossing: where they already make a path of their own, the rest adds nothing
 */
export function* crossingPaths(rig: Rig, enters: (doors: readonly number[]) => boolean): Generator<CrossingPath> {
  const starts = startsByChamber(rig);
  for (const [index, stack] of rig.stacks.entries()) {
    for (const start of pathStarts(stack)) {
      for (const path of pathsFrom(rig, index, start)) {
        if (!enters(path.doors)) break;
        for (const [other, place] of starts.get(path.downstream) ?? []) {
          if (other === index) continue;
          for (const { doors, downstream } of pathsFrom(rig, other, place)) {
            if (downstream === path.upstream && downstream >= 0) continue;
            yield { ...path, over: path.downstream, downstream, doors: [...new Set([...path.doors, ...doors])] };
          }
        }
      }
    }
  }
}

/** Where each chamber may begin a path: stack and place. */
function startsByChamber(rig: Rig): Map<number, [number, number][]> {
  const starts = new Map<number, [number, number][]>();
  rig.stacks.forEach((stack, index) => {
    for (const place of pathStarts(stack)) {
      const member = stack.members[place];
      if (!member) continue;
      const list = starts.get(member.index);
      if (list) list.push([index, place]);
      else starts.set(member.index, [[index, place]]);
    }
  });
  return starts;
}

/** Whether two doors stand in one stage. */
export function sameStage(rig: Rig, a: number, b: number): boolean {
  return stagesOf(rig).some((s) => s.doors.includes(a) && s.doors.includes(b));
}

/**
 * Doors whose openness decides whether what a door pushes out can leave on each side, upstream first; an empty list is a chamber,
 * which takes anything. A gas or loose stuff needs the next door off its seat; a liquid needs every door before the next chamber
 * off its seat, for open pockets are full already.
 */
export function pocketOutlets(
  rig: Rig,
  { doors }: Stage,
  place: number,
): readonly [readonly number[], readonly number[]] {
  const upstream = doors.slice(0, place);
  const downstream = doors.slice(place + 1);
  return rig.medium?.phase === 'liquid' ? [upstream, downstream] : [upstream.slice(-1), downstream.slice(0, 1)];
}

/** Whether a door has a pocket to empty; doors without a stated one are not looked at. */
export function hasPocket(rig: Rig, door: number): boolean {
  return (rig.doors[door]!.pocket?.nominal ?? 0) > 0;
}
