/** Strokes of several triggers in which the doors do the same at the same times: they are described once. */
import type { StrokeFacts } from './facts';
import { listText, sinceTrigger } from './words';

/** What starts a stroke. */
export type Started = Pick<StrokeFacts, 'trigger' | 'becomes'>;

/** Strokes in groups of those that are alike, in order of the first of each. */
export function alikeStrokes(strokes: readonly StrokeFacts[]): (readonly StrokeFacts[])[] {
  const groups = new Map<string, StrokeFacts[]>();
  for (const stroke of strokes) {
    const key = whatDoorsDo(stroke);
    const group = groups.get(key);
    if (group) group.push(stroke);
    else groups.set(key, [stroke]);
  }
  return [...groups.values()];
}

/** Everything that is said of a stroke but what started it, why its doors move, and what the network does besides. */
function whatDoorsDo(stroke: StrokeFacts): string {
  const { doors, pairs, straightThrough, strokeEnds, repeat, strokeCount, settlesAfter, strokesPerPeriod } = stroke;
  const windows = doors.map(({ door, windows: all }) => [
    door,
    all.map(({ commanded, notShut, fullyOpen, openBefore }) => [commanded, notShut, fullyOpen, openBefore]),
  ]);
  const stopped = stroke.trace.stopped !== null;
  const shown = [
    windows,
    pairs,
    straightThrough,
    strokeEnds,
    repeat,
    strokeCount,
    settlesAfter,
    strokesPerPeriod,
    stopped,
  ];
  // `null` and without end are two things; JSON has one word for both.
  return JSON.stringify(shown, (_, value: unknown) => (value === Infinity ? 'without end' : value));
}

/** "after ready goes on", "after left or right goes on": what the cumulative times of strokes that are alike count from. */
export function sinceTriggers(strokes: readonly Started[]): string {
  const [first] = strokes;
  if (!first || strokes.some(({ trigger, becomes }) => trigger.kind === 'power' || becomes !== first.becomes))
    return listText(strokes.map(sinceTrigger), 'or');
  return sinceTrigger({ ...first, trigger: { ...first.trigger, name: triggerNames(strokes) } });
}

/** "left or right". */
export const triggerNames = (strokes: readonly Started[]): string =>
  listText(
    strokes.map(({ trigger }) => trigger.name),
    'or',
  );
