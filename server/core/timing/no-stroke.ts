/** What is said where there is no stroke to speak of: that none was computed is another thing than that nothing starts one. */
import { say } from '../words/say';
import type { TimingFacts } from './facts';

/** The reason, to follow a colon: `otherwise` where strokes were looked for to the end. */
export function noStrokeReason({ atRest, incomplete }: TimingFacts, otherwise: string): string {
  if (atRest.loop) return say`the control network never settles`;
  return incomplete === null ? otherwise : incomplete.replace(/\.$/, '');
}

/** The same as a sentence about the rig named; `otherwise` is one. */
export function noStroke(name: string, timing: TimingFacts, otherwise: string): string {
  const reason = noStrokeReason(timing, '');
  return reason === '' ? otherwise : say`The strokes of ${name} were not computed: ${reason}.`;
}
