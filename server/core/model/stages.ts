/** The stages of a rig: the doors of a stack between one chamber and the next. */
import type { Rig } from './rig';

export interface Stage {
  readonly stack: number;
  /** Index into `chambers`; -1 where the stack begins or ends with a door. */
  readonly upstream: number;
  readonly downstream: number;
  /** Doors in order, upstream first. */
  readonly doors: readonly number[];
}

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
