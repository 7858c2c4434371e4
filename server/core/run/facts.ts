/** Everything computed about one rig; timing and flow meet in this folder only. */
import type { Rig } from '../model/rig';
import type { FlowFacts } from '../flow/facts';
import type { TimingFacts } from '../timing/facts';

export interface RigFacts {
  readonly rig: Rig;
  readonly timing: TimingFacts;
  /** Null for a rig that moves no medium. */
  readonly flow: FlowFacts | null;
}
