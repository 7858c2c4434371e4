/** How the parts of a rig are named in failure modes. */
import type { Drive, Rig } from '../model/rig';
import { say } from '../words/say';

/** Of the net with this index. */
export const nameOf = (rig: Rig, index: number): string => rig.network.nets[index]?.name ?? '?';

const targetName = (rig: Rig, { kind, target }: Drive): string =>
  (kind === 'door' ? rig.doors : rig.lines)[target]?.name ?? '?';

/** `door upper`, `feed fan`. */
export const drivenName = (rig: Rig, drive: Drive): string => `${drive.kind} ${targetName(rig, drive)}`;

/** `doors upper and lower`, `door upper and feed main`. */
export function pairName(rig: Rig, a: Drive, b: Drive): string {
  if (a.kind !== b.kind) return say`${drivenName(rig, a)} and ${drivenName(rig, b)}`;
  const [first, second] = [targetName(rig, a), targetName(rig, b)];
  if (a.kind === 'door') return say`doors ${first} and ${second}`;
  return a.kind === 'feed' ? say`feeds ${first} and ${second}` : say`draws ${first} and ${second}`;
}

export const stuckDoor = (name: string, open: boolean): string =>
  open ? say`door ${name} stuck open` : say`door ${name} stuck shut`;
