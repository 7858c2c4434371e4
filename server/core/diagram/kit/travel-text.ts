/** The travel of a door in words, the same in every picture: `travel 300 ms`; `opens 280 ms, shuts 420 ms` where the two ways differ. */
import type { Door } from '../../model/rig';
import { say } from '../../words/say';
import { timeText } from './time-text';

export function travelText({ opensIn, closesIn }: Pick<Door, 'opensIn' | 'closesIn'>): string {
  const [open, shut] = [timeText(opensIn.nominal), timeText(closesIn.nominal)];
  return opensIn.nominal === closesIn.nominal ? say`travel ${open}` : say`opens ${open}, shuts ${shut}`;
}
