/** The stages of a rig: the doors of a stack between one chamber and the next. */
import type { Rig } from '../model/rig';

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
