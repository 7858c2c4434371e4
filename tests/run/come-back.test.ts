/** A followed run that comes back to where it was ends there, and one whole period of it is the working point. */
import { describe, expect, it } from 'vitest';
import { analyseRig } from '../../server/core/run/analyse';
import { quickRun } from '../../server/core/run/scenario-run';
import { sampleRig } from '../support/rigs';

/** Kilograms and strokes per second that the rig settles to, from a run that is not cut short (`target`), over its last `strokes`. */
function longRun(name: string, last: number, end: number) {
  const until = (strokes: number) => quickRun(sampleRig(name))!.fill({ strokes, target: () => false });
  const [from, to] = [until(end - last), until(end)];
  const seconds = to.seconds - from.seconds;
  return { strokesPerSecond: last / seconds, workPerStroke: (to.energy.compression - from.energy.compression) / last };
}

describe('a period that comes round', () => {
  it.each([
    ['digester_bank', 45, 300],
    ['twin_presses', 45, 350],
  ])('%s: its means are those of a run several times as long', (name, last, end) => {
    const { ended, working, strokes } = analyseRig(sampleRig(name)).flow!.filling!;
    const long = longRun(name, last, end);
    expect(ended).toBe('round');
    expect(strokes).toBeLessThan(end);
    expect(working!.strokes / working!.seconds / long.strokesPerSecond).toBeCloseTo(1, 3);
    expect(working!.energy.compression / working!.strokes / long.workPerStroke).toBeCloseTo(1, 3);
  });
});
