/** Everything worked out about one rig, from its resolved form: the one entry for checks, requirements, diagrams and reports. */
import type { Rig } from '../model/rig';
import { analyseTiming } from '../timing/analyse';
import type { TimingOptions } from '../timing/analyse';
import type { RigFacts } from './facts';

/** Facts of a rig at nominal times. */
export function analyseRig(rig: Rig, options: TimingOptions = {}): RigFacts {
  return { rig, timing: analyseTiming(rig, options) };
}
