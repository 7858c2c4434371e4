/** Everything worked out about one rig; timing and flow meet in this folder only. */
import type { Rig } from '../model/rig';
import type { TimingFacts } from '../timing/facts';

export interface RigFacts {
  readonly rig: Rig;
  readonly timing: TimingFacts;
}
