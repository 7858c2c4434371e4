/** Parts of the flow model that follow from single statements: openings of the doors, walls of the chambers. */
import type { Problem } from '../model/problem';
import type { Rig } from '../model/rig';
import { leaksOf } from './leaks';
import type { Law } from './media/law';
import { heatRatioOf, openingLaw } from './opening-laws';
import type { FlowModel } from './rig-model';
import type { Vessel } from './vessel';
import { type Wall, wallsOf } from './walls';
import { say } from '../words/say';

/**
 * Effective areas of the doors, m2 (Infinity where no opening is stated), and the law each lets gas through by; nothing where no door
 * leaks, and none of a stack that is not measured states an opening.
 */
export function openingsOf(rig: Rig, law: Law): Pick<FlowModel, 'areas' | 'nozzles' | 'leaks'> {
  if (law.phase === 'packed') return {};
  const leaks = leaksOf(rig, law);
  const laws = rig.doors.map((door) => openingLaw(door, heatRatioOf(law)));
  const flowing = rig.stacks.filter((stack) => !stack.moves).flatMap((stack) => stack.members);
  const isStated = flowing.some((member) => member.kind === 'door' && laws[member.index]);
  if (!isStated && !leaks.leaks) return {};
  return {
    areas: Float64Array.from(laws, (opening) => opening?.area ?? Infinity),
    nozzles: laws.map((opening) => opening?.nozzle ?? null),
    ...leaks,
  };
}

/** Walls of the chambers as stated. Pockets of doors have none. An isothermal medium needs none: its walls are endless already. */
export function wallsOfRig(rig: Rig, law: Law, vessels: readonly Vessel[]): Pick<FlowModel, 'walls'> {
  if (law.phase !== 'gas' || law.exponent === 1) return {};
  const stated = rig.chambers.map(({ wall, coolsIn }): Wall => {
    if (coolsIn) return { seconds: coolsIn.nominal / 1e6 };
    return wall && wall.nominal > 0 ? { conductance: wall.nominal } : null;
  });
  const volumes = vessels.map(({ volume }) => volume);
  const walls = wallsOf(law, [...stated, ...rig.doors.map(() => null)], volumes, law.temperature);
  return walls ? { walls } : {};
}

/**
 * Leaks that no figure can count. Past a door of a stack that is an error: figures of a tight door would be wrong, and would look
 * like any other. A door that stands in no stack is part of no figure anyway.
 */
export function leakProblems(rig: Rig, law: Law): Problem[] {
  return rig.doors.flatMap(({ name, leak }, index): Problem[] => {
    if (leak === null) return [];
    const at = leak.value.at;
    const code = 'flow/value';
    if (!rig.stacks.some((s) => s.members.some((m) => m.kind === 'door' && m.index === index))) {
      const message = say`What leaks past ${name} while it is shut is not counted: no stack holds the door.`;
      return [{ code, severity: 'warning', message, at }];
    }
    const why =
      law.phase === 'packed'
        ? say`a packed medium has no pressure that could drive it; take \`leak\` out for the figures of a tight door`
        : law.phase === 'liquid' && leak.kind === 'conductance'
          ? say`a conductance by ISO 6358 is that of a gas; state the leak as an area or as a share of the opening`
          : null;
    if (why === null) return [];
    const message = say`What leaks past ${name} while it is shut cannot be counted: ${why}.`;
    return [{ code, severity: 'error', message, at }];
  });
}
