/** Parts of the flow model that follow from single statements: openings of the doors, walls of the chambers. */
import type { Problem } from '../model/problem';
import type { Rig } from '../model/rig';
import { leaksOf } from './leaks';
import type { Law } from './media/law';
import { openingLaw } from './opening-laws';
import type { FlowModel } from './rig-model';
import type { Vessel } from './vessel';
import { wallsOf } from './walls';

/**
 * Effective areas of the doors, m2 (Infinity where no opening is stated), and the law each lets gas through by; nothing where no door
 * of a stack that is not measured states an opening or leaks.
 */
export function openingsOf(rig: Rig, law: Law): Pick<FlowModel, 'areas' | 'nozzles' | 'leaks'> {
  if (law.phase === 'packed') return {};
  const leaks = leaksOf(rig, law);
  const heatRatio = law.phase === 'gas' ? law.heatRatio : 1.4;
  const laws = rig.doors.map((door) => openingLaw(door, heatRatio));
  const flowing = rig.stacks.filter((stack) => !stack.moves).flatMap((stack) => stack.members);
  const isStated = flowing.some((member) => member.kind === 'door' && laws[member.index]);
  if (!isStated && !leaks.leaks) return {};
  return {
    areas: Float64Array.from(laws, (opening) => opening?.area ?? Infinity),
    nozzles: laws.map((opening) => opening?.nozzle ?? null),
    ...leaks,
  };
}

/**
 * Walls of the chambers: a stated time constant, or m cv over the heat they pass, with the contents at the start. Pockets of doors have
 * none. An isothermal medium needs none: its walls are endless already.
 */
export function wallsOfRig(
  rig: Rig,
  law: Law,
  vessels: readonly Vessel[],
  start: readonly number[],
): Pick<FlowModel, 'walls'> {
  if (law.phase !== 'gas' || law.exponent === 1) return {};
  const cells = rig.chambers.length + rig.doors.length;
  const seconds = new Float64Array(cells).fill(Infinity);
  rig.chambers.forEach(({ wall, coolsIn }, k) => {
    const { volume, temperature } = vessels[k]!;
    // A stated time constant is taken as it is; one from m cv / UA holds for the contents at the start, and is kept.
    if (coolsIn) seconds[k] = coolsIn.nominal / 1e6;
    else if (wall && wall.nominal > 0 && volume > 0) {
      seconds[k] = (start[k]! * law.heatCapacity(start[k]! / volume, temperature)) / wall.nominal;
    }
  });
  const walls = wallsOf(new Float64Array(cells).fill(law.temperature), seconds);
  return walls ? { walls } : {};
}

/** What is stated and not part of any figure yet: reported, so that nobody assumes it is counted. */
export function notCounted(rig: Rig, law: Law): Problem[] {
  const counted = new Set(
    law.phase === 'gas'
      ? rig.stacks.filter((s) => !s.moves).flatMap((s) => s.members.map((m) => m.kind + m.index))
      : [],
  );
  const why = law.phase === 'gas' ? 'no stack that is computed holds it' : 'leaks are computed for a gas';
  return rig.doors.flatMap(({ name, leak }, index) =>
    leak === null || counted.has(`door${index}`)
      ? []
      : [
          {
            code: 'flow/value',
            severity: 'warning' as const,
            message: `What leaks past ${name} while it is shut is not counted (${why}): all figures of flow are those of a tight door.`,
            at: leak.value.at,
          },
        ],
  );
}
