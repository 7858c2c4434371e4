/** `flow/value`: something about masses or pressures that makes no sense, so that flow is not computed (or not to be believed). */
import { modelFlow } from '../../flow/flow-model';
import type { Check } from '../check';

export const value: Check = {
  code: 'flow/value',
  title: 'Flow cannot be computed',
  severity: 'error',
  explanation:
    'A volume, a pressure, a rate or the medium is missing or impossible, a stack does not run from chamber to chamber, or the contents at the start are above a limit or outside the range in which the law of the medium holds. Flow is left out (or, for a warning, worked out all the same); timing is not touched by it.',
  run: ({ rig }) => [...modelFlow(rig).problems],
};
