/** Readings as a logger would take them of a rig: openings of its doors through its first stroke, contents where wanted. */
import { positionAt } from '../../server/core/model/motion';
import type { RigFacts } from '../../server/core/run/facts';

/** One line each 20 ms from a second before the trigger, door by door, in per cent. The clock of the log begins at zero. */
export function measuredStroke({ rig, timing }: RigFacts, leaveOut: readonly string[] = []): string {
  const { trace, strokeEnds } = timing.strokes[0]!;
  const doors = rig.doors.flatMap((door, k) =>
    leaveOut.includes(door.name) ? [] : [{ door, track: trace.doors[k]! }],
  );
  const lines = [['time [s]', ...doors.map((d) => d.door.name)].join(',')];
  for (let t = -1_000_000; t <= strokeEnds! + 500_000; t += 20_000) {
    const cells = doors.map((d) => positionAt(d.track, t).toFixed(3));
    lines.push([((t + 1_000_000) / 1e6).toFixed(2), ...cells].join(','));
  }
  return lines.join('\n') + '\n';
}
