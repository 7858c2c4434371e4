/** What leads to hardware is never made from a text with errors in its control. */
import { isTextError } from '../../core/document/problems';
import type { Rig } from '../../core/model/rig';
import { controlFindings, type Finding } from '../findings';
import type { Input } from '../inputs';
import type { Io } from '../io';

/** Errors of the text and of the wiring leave no control to export; what the doors then do is reported, and refuses nothing. */
const spoilsControl = (f: Finding): boolean => isTextError(f) || (f.severity === 'error' && f.code.startsWith('wire/'));

/** Why there can be no export or sheet, in one sentence; null where there can. */
export function refusal(io: Io, input: Input, rig: Rig): string | null {
  const error = controlFindings(io, [input]).find(spoilsControl);
  if (error)
    return `the text has errors: ${error.path}:${error.start.line}:${error.start.column}: ${error.code}: ${error.message}`;
  if (rig.incomplete && rig.incomplete.length > 0) return 'parts of the control could not be read.';
  if (rig.drives.length === 0) return `${rig.name} has no control (no drive and no sequence that drives).`;
  return null;
}
