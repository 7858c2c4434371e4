/** Sentences about a picture: how a stroke repeats, what is not drawn, what is not certain. */
import { doorsNamed } from '../../model/logic';
import type { Rig } from '../../model/rig';
import { evaluateRequirement } from '../../metrics/evaluate';
import type { RigFacts } from '../../run/facts';
import type { ScenarioCourse } from '../../run/scenario-run';
import type { StrokeFacts, TimingFacts } from '../../timing/facts';
import type { Trace } from '../../timing/trace';
import { FOLLOWED, momentText, timeText } from '../kit/time-text';
import type { PairMark } from './model';
import { say } from '../../words/say';

export function repeatWords(rig: Rig, stroke: StrokeFacts): string {
  if (stroke.repeat !== null) {
    const strokes = stroke.strokesPerPeriod > 1 ? ` (${say`pattern of ${stroke.strokesPerPeriod} strokes`})` : '';
    const times = stroke.strokeCount === null ? '' : `, ${say`${stroke.strokeCount} times`}`;
    return `${say`repeats every ${timeText(stroke.repeat)}`}${times}${strokes}`;
  }
  const groups = stroke.intervals.map(({ interval, doors }) => {
    const names = doors.map((d) => rig.doors[d]?.name ?? '?').join(', ');
    return say`${names} every ${timeText(interval)}`;
  });
  if (groups.length > 0) return say`repeats: ${groups.join('; ')}`;
  return stroke.trace.stopped ? say`not computed to its end` : say`does not repeat while the trigger holds`;
}

export function strokeNotes(facts: RigFacts, stroke: StrokeFacts, marks: readonly PairMark[]): string[] {
  const { rig } = facts;
  const notes: string[] = [];
  if (stroke.intervals.length > 1) {
    notes.push(
      say`Groups of doors repeat at intervals of their own: what is drawn between them holds for this record only.`,
    );
  }
  if (stroke.strokeEnds === null && stroke.trace.stopped === null)
    notes.push(say`The stroke does not end: a door does not come back to where it stood before the trigger.`);
  for (const requirement of rig.requirements) {
    if (requirement.metric !== 'overlap' || requirement.during !== null) continue;
    const doors = requirement.args.flatMap((a) => (a.kind === 'item' && a.of === 'door' ? [`door:${a.name}`] : []));
    const drawn = marks.some((m) => m.kind === 'overlap' && m.lanes.every((l) => doors.includes(l)));
    // A stroke in which one of them does not open is another stage's, and not judged.
    const concerned = doorsNamed(rig, requirement).every((d) =>
      stroke.doors.some((x) => x.door === d && x.windows.length > 0),
    );
    // That two doors are never open together is what an upper limit may want.
    if (!drawn && concerned && evaluateRequirement(facts, requirement).state === 'failed')
      notes.push(say`Never both fully open: ${requirement.text}.`);
  }
  return notes;
}

export function stopNotes(rig: Rig, trace: Trace): string[] {
  if (!trace.stopped) return [];
  if (trace.stopped.reason === 'budget') return [say`Too many changes: drawn as far as ${timeText(trace.end)} only.`];
  const names = trace.stopped.nets.map((n) => rig.network.nets[n]?.name ?? '?').join(', ');
  return [say`From ${timeText(trace.stopped.t)} on the loop ${names} never settles; nothing is drawn beyond.`];
}

/** What the course of a scenario lacks. */
export function courseNotes({ withContents, left }: ScenarioCourse): string[] {
  if (left) return [say`Followed up to ${momentText(left.t, FOLLOWED)}: ${left.why}.`];
  return withContents ? [] : [say`Sensors change only where the scenario says so: no contents are computed.`];
}

/** What moves the sensors of a scenario, to stand behind its name. */
export const courseWords = ({ withContents }: ScenarioCourse): string =>
  withContents ? ` · ${say`contents move the sensors, their curves are in Store`}` : '';

export function restNote(rig: Rig, { atRest }: TimingFacts): string {
  if (rig.doors.length === 0) return say`This rig has no doors to draw.`;
  if (atRest.loop) return say`The control network never settles, so there is no stroke to draw.`;
  if (atRest.moves) return say`Doors move without any trigger.`;
  if (rig.sensors.length === 0) return say`No sensor, so nothing triggers a stroke; the rig is drawn at rest.`;
  return say`No sensor moves a door when it changes alone; the rig is drawn at rest.`;
}

export function incomplete(reason: string | null): string[] {
  return reason === null ? [] : [say`Not complete: ${reason}`];
}
