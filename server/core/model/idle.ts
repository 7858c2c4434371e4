/** Where a door stands while the rig does nothing. */
import { isDriven } from './logic';
import type { Rig } from './rig';

/** Open only where it rests open and nothing drives it: a drive that is off shuts the door as long as there is power. */
export function idlesOpen(rig: Rig, door: number): boolean {
  return rig.doors[door]!.rest === 'open' && !isDriven(rig, door);
}

/** Whether `require stands_open(door)` says that it is meant to stand open. */
export function isMeantToStandOpen(rig: Rig, door: number): boolean {
  return rig.requirements.some(
    ({ metric, args }) =>
      metric === 'stands_open' && args.some((a) => a.kind === 'item' && a.of === 'door' && a.index === door),
  );
}
