/** `cycle/not-worked-out`: a rig that was not simulated to its end, so that nothing reported about it is complete. */
import { WHOLE_RIG } from '../about';
import { type Check, found } from '../check';
import { say } from '../../words/say';

export const notWorkedOut: Check = {
  code: 'cycle/not-worked-out',
  title: 'Not simulated to its end',
  severity: 'error',
  explanation:
    'The rig changes so often, or its parts come together again so late, that the simulation was stopped by its budget before it came to rest or repeated. What is reported about it is true of what was simulated, and says nothing of what comes after: the absence of a finding means nothing. Usually two clocks with presets that never meet, or an oscillation of microseconds, are the cause: give the clocks one base, or start one by the other. Where groups of doors that share nothing but inputs drift against each other, each is known and only what lies between them is not (a warning).',
  run({ rig, facts: { timing } }) {
    if (timing.incomplete === null) return [];
    const runs = [timing.atRest.trace, ...timing.strokes.map((s) => s.trace)];
    const isCut = runs.some((trace) => trace.stopped?.reason === 'budget');
    const message = isCut
      ? say`Not simulated to its end: ${timing.incomplete}. Nothing reported about this rig is complete.`
      : say`Not complete: ${timing.incomplete}.`;
    return [found(notWorkedOut, rig.at, message, WHOLE_RIG, { severity: isCut ? 'error' : 'warning' })];
  },
};
