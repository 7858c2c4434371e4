/** `sensor/inverted`: a stroke that starts when its receiving chamber runs empty, or when its store is full. */
import type { Fix, Problem } from '../../model/problem';
import type { Sensor } from '../../model/rig';
import { strokeCourses } from '../../timing/course';
import type { StrokeFacts } from '../../timing/facts';
import { type Check, type CheckContext, found } from '../check';
import { stagesOf } from '../../model/stages';
import { say } from '../../words/say';

export const inverted: Check = {
  code: 'sensor/inverted',
  title: 'Sensor the wrong way round',
  severity: 'warning',
  explanation:
    'The stroke starts at the wrong moment: its sensor sits on the chamber that the stroke empties and the stroke starts when that runs empty, or it sits on the chamber that the stroke fills and the stroke starts when that is full. Turn `above` and `below` round, or invert the sensor where it is read. Sensors on chambers between two stages are not judged.',
  run: (context) => context.facts.timing.strokes.flatMap((stroke) => problemOf(context, stroke)),
};

function problemOf(context: CheckContext, stroke: StrokeFacts): Problem[] {
  const { rig } = context;
  const sensor = rig.sensors[stroke.sensor];
  if (!sensor?.on || sensor.chamber < 0) return [];
  const role = roleOf(context, stroke, sensor.chamber);
  if (role === 'neither') return [];
  const fills = (sensor.on.side === 'above') === stroke.becomes;
  if (fills === (role === 'source')) return [];
  const chamber = rig.chambers[sensor.chamber]!.name;
  const goes = stroke.becomes ? say`${sensor.name} goes on` : say`${sensor.name} goes off`;
  const message =
    role === 'source'
      ? say`The stroke starts when ${goes}, which is when ${chamber} runs empty, though it takes from ${chamber}.`
      : say`The stroke starts when ${goes}, which is when ${chamber} is full, though it delivers to ${chamber}.`;
  return [found(inverted, sensor.at, message, { nets: [sensor.net] }, { fixes: fixesOf(context, sensor) })];
}

/** What the stages that this stroke opens do to a chamber. */
function roleOf({ rig, facts }: CheckContext, stroke: StrokeFacts, chamber: number): 'source' | 'target' | 'neither' {
  const course = strokeCourses(facts).find((c) => c.stroke === stroke);
  const stages = stagesOf(rig).filter((s) => s.doors.some((door) => (course?.openings[door]?.length ?? 0) > 0));
  const from = stages.some((s) => s.upstream === chamber);
  const into = stages.some((s) => s.downstream === chamber);
  if (from === into) return 'neither';
  return from ? 'source' : 'target';
}

/** Turns the words `above` and `below` of the sensor round. */
function fixesOf(context: CheckContext, sensor: Sensor): Fix[] {
  const { uri, start, end } = sensor.whole;
  const text = context.text(uri)?.slice(start, end);
  if (text === undefined) return [];
  const code = text.replace(/#[^\n]*/g, (comment) => ' '.repeat(comment.length));
  const edits = [...code.matchAll(/\b(above|below)\b/g)].map((match) => ({
    at: { uri, start: start + match.index, end: start + match.index + match[0].length },
    text: match[0] === 'above' ? 'below' : 'above',
  }));
  // With a hysteresis the two values would have to change places as well.
  if (edits.length !== 1) return swapFixes(context, sensor, edits);
  return [{ title: say`Turn ${sensor.name} round`, edits, preferred: true }];
}

function swapFixes(context: CheckContext, sensor: Sensor, edits: Fix['edits']): Fix[] {
  const [on, clears] = [sensor.on?.value.at, sensor.clears?.value.at];
  const read = (at: typeof on): string | undefined => at && context.text(at.uri)?.slice(at.start, at.end);
  const [first, second] = [read(on), read(clears)];
  if (edits.length !== 2 || !on || !clears || !first || !second || on.uri !== sensor.whole.uri || clears.uri !== on.uri)
    return [];
  const swapped = [
    { at: on, text: second },
    { at: clears, text: first },
  ];
  const all = [...edits, ...swapped].sort((a, b) => a.at.start - b.at.start);
  return [{ title: say`Turn ${sensor.name} round`, edits: all, preferred: true }];
}
