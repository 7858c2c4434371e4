/** What leads to hardware is never made from a text with errors in its control. */
import type { Rig } from '../../core/model/rig';
import { findings } from '../findings';
import type { Input } from '../inputs';
import type { Io } from '../io';

/** Errors about what the doors do leave the control what it is; they are shown, and refuse nothing. */
const ABOUT_RESULTS = /^(require|door|flow|cycle|timer|sensor|loss)\//;

/** Why there can be no export or sheet, in one sentence; null where there can. */
export function refusal(io: Io, input: Input, rig: Rig): string | null {
  const error = findings(io, [input]).find((f) => f.severity === 'error' && !ABOUT_RESULTS.test(f.code));
  if (error)
    return `the text has errors: ${error.path}:${error.start.line}:${error.start.column}: ${error.code}: ${error.message}`;
  if (rig.incomplete && rig.incomplete.length > 0) return 'parts of the control could not be read.';
  if (rig.drives.length === 0) return `${rig.name} has no control (no drive and no sequence that drives).`;
  return null;
}
