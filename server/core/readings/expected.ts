/** What the rig as written would have done while a log was taken: driven by the inputs that were logged, its clock laid on that of the log. */
import type { RigFacts } from '../run/facts';
import { shiftedTrace, type Trace } from '../timing/trace';
import { align, measuredLog } from './align';
import type { RigLog } from './log';
import { follow, stimulusOf } from './stimulus';

/** Null where nothing starts a stroke. Times are those of the log. */
export function expectedTrace({ rig, timing }: RigFacts, log: RigLog): Trace | null {
  const stimulus = stimulusOf(rig, timing, log, null);
  if (!stimulus) return null;
  const length = Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!);
  const trace = follow(rig, rig, stimulus, length);
  const { offset } = align(measuredLog(log, stimulus.given), trace, true);
  return shiftedTrace(trace, offset);
}
