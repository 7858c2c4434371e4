/**
 * The timing diagram as plain data: lanes, edges with their causes, marks between doors, bands, the table. Times are whole
 * microseconds from the trigger's edge. Every id is made from names and counts (`door:upper/opens/0`), so that it stays the same
 * when other parts of the text are edited.
 */
import type { Source } from '../../model/problem';
import type { Rig, Scenario } from '../../model/rig';
import { edgeRanges } from '../../run/edge-ranges';
import type { RigFacts } from '../../run/facts';
import { quickRun, scenarioTrace, type ScenarioCourse } from '../../run/scenario-run';
import type { StrokeFacts, TimingFacts } from '../../timing/facts';
import type { Trace } from '../../timing/trace';
import { scenarioText, strokeKey, triggerText } from '../../timing/words';
import type { Table } from '../kit/table';
import { FOLLOWED, type KnownTo } from '../kit/time-text';
import { lanesOf, type EdgeRanges } from './lanes';
import { bandsOf, marksOf } from './marks';
import { courseNotes, courseWords, incomplete, repeatWords, restNote, stopNotes, strokeNotes } from './notes';
import { timingTables } from './tables';
import { relationsOf } from './trace-relations';
import { say } from '../../words/say';
import { finish, patiently, type Work } from '../../work/work';

export type DoorEdgeKind = 'opens' | 'opened' | 'closes' | 'shuts' | 'turns';
export type LogicEdgeKind = 'on' | 'off';

/** One change on a lane. */
export interface TimingEdge {
  readonly id: string;
  /** Id of its lane. */
  readonly lane: string;
  readonly kind: DoorEdgeKind | LogicEdgeKind;
  readonly t: number;
  /** Earliest and latest within tolerance; both null where not computed. */
  readonly min: number | null;
  readonly max: number | null;
  /** The edge that led to it; null for an operation from outside or one before the drawing starts. */
  readonly cause: string | null;
  /** Contributions since the cause, in microseconds; 0 where none. */
  readonly response: number;
  readonly preset: number;
  readonly travel: number;
  /** `upper opens`, `ready on` */
  readonly text: string;
  readonly source: Source | null;
}

/** A point of a door's position (0 shut … 1 fully open); the position is linear between points. */
export interface DoorPoint {
  readonly t: number;
  readonly position: number;
}

export interface DoorLane {
  readonly kind: 'door';
  /** `door:NAME` */
  readonly id: string;
  readonly name: string;
  /** `travel 300 ms` */
  readonly detail: string;
  readonly source: Source;
  /** Everything in the text that is about this lane: the text cursor in one of them lights it. */
  readonly places: readonly Source[];
  /** Index into the rig's doors. */
  readonly door: number;
  readonly points: readonly DoorPoint[];
  readonly edges: readonly TimingEdge[];
}

export interface LogicLane {
  /** `element`: an inner timer, edge, latch or counter call of a signal. */
  readonly kind: 'sensor' | 'switch' | 'signal' | 'element';
  /** `net:NAME` */
  readonly id: string;
  readonly name: string;
  /** `TOF 1.8 s`, `logic`, … for people; empty for inputs. */
  readonly detail: string;
  readonly source: Source;
  readonly places: readonly Source[];
  readonly net: number;
  readonly initial: boolean;
  readonly edges: readonly TimingEdge[];
}

export type Lane = DoorLane | LogicLane;

/**
 * Something between two doors over a time. `wanted`: an overlap asked for and within its limits; `short`: an overlap or gap asked
 * for and outside its limits; `unstated`: open together and this is not stated as meant; `apart`: a gap asked for and kept.
 */
export interface PairMark {
  /** `pair:A+B/overlap/0` */
  readonly id: string;
  readonly kind: 'overlap' | 'gap';
  readonly verdict: 'wanted' | 'apart' | 'short' | 'unstated';
  /** Lane ids, upper lane first. */
  readonly lanes: readonly [string, string];
  readonly from: number;
  /** null: still so where the drawing ends. */
  readonly to: number | null;
  /** `overlap 250 ms`, `gap 150 ms`, `open together 90 ms` */
  readonly label: string;
  /** `12 ms to spare`: kept, and by little (`TIGHT`); absent otherwise. */
  readonly tight?: string;
  /** One sentence with numbers and what was asked for. */
  readonly text: string;
  /** The requirement, or the later door where none is stated. */
  readonly source: Source | null;
}

/** A time when all doors between two chambers stand open. */
export interface Band {
  /** `path:STAGE/0` */
  readonly id: string;
  /** Lanes of its doors. */
  readonly lanes: readonly string[];
  readonly from: number;
  readonly to: number | null;
  readonly label: string;
  readonly source: Source | null;
}

export interface TimingModel extends KnownTo {
  /** `RIG/SENSOR on` (or `off`), `RIG/at rest`, `RIG/SCENARIO`; unique in its rig. */
  readonly id: string;
  /** The rig's title, or its name. */
  readonly title: string;
  /** What is drawn: `One stroke from ready on · repeats every 11.8 s`. */
  readonly subtitle: string;
  /** Recorded range; nothing is known outside it. */
  readonly start: number;
  readonly end: number;
  /** The part that *Fit* shows: a little before the trigger to the end of the first stroke or its repeat. */
  readonly home: { readonly from: number; readonly to: number };
  readonly lanes: readonly Lane[];
  readonly marks: readonly PairMark[];
  readonly bands: readonly Band[];
  /** Interval of repetition and where the first repeat starts; null where it does not repeat. */
  readonly repeat: { readonly interval: number; readonly at: number } | null;
  /** Index of the scenario that is drawn; absent for anything else. */
  readonly scenario?: number;
  /** The scenario was not followed with its contents, which was not asked for: nothing of it is known yet. */
  readonly isPending?: true;
  /** Plain sentences about what is not shown or not certain. */
  readonly notes: readonly string[];
  /** Doors with their cumulative times, the relations between doors, and all changes in order of time. Empty of an edge in the hand: made from the rest where they are shown. */
  readonly tables: readonly Table[];
}

/**
 * One model per trigger, else one of the rig at rest. Then one per scenario in which anything can happen. Never empty.
 * `pending`: scenarios are not followed with their contents, which may take seconds; their models say so.
 */
export const timingModels = (...asked: Parameters<typeof timingModelsWork>): TimingModel[] =>
  finish(timingModelsWork(...asked));

/** The same in steps of one picture. */
export function* timingModelsWork(
  facts: RigFacts,
  scenarios: 'followed' | 'pending' = 'followed',
): Work<TimingModel[]> {
  const { rig, timing } = facts;
  const isPending = scenarios === 'pending' && quickRun(rig) !== null;
  const drawn = rig.scenarios.filter((s) => isDrawn(rig, s, timing));
  const modelOf = (s: Scenario): TimingModel => (isPending ? pendingModel(rig, s) : followedModel(rig, s));
  const models: TimingModel[] = [];
  const { strokes } = timing;
  for (const draw of [
    ...(strokes.length > 0 ? strokes.map((s) => () => timingModel(facts, s)) : [() => restModel(facts)]),
    ...drawn.map((s) => () => modelOf(s)),
  ]) {
    models.push(yield* patiently(draw));
    yield;
  }
  return models;
}

/** What a picture shows: `key` names it in its id, alike in every language; `text` is shown. */
export interface PictureName {
  readonly key: string;
  readonly text: string;
}

/** Names a scenario in ids. */
export const scenarioKey = ({ name }: Pick<Scenario, 'name'>): string => `scenario ${name}`;
const nameOf = (scenario: Scenario): PictureName => ({
  key: scenarioKey(scenario),
  text: scenarioText(scenario),
});

/** The id of a picture of `rig`. */
export const pictureId = (rig: Pick<Rig, 'name'>, key: string): string => `${rig.name}/${key}`;

/** The strokes and scenarios that have a picture, by the id of their picture. */
type Pictured =
  | { readonly kind: 'stroke'; readonly stroke: StrokeFacts }
  | { readonly kind: 'scenario'; readonly scenario: Scenario };

function picturedAs({ rig, timing }: RigFacts, id: string): Pictured | null {
  const stroke = timing.strokes.find((s) => id === pictureId(rig, strokeKey(s)));
  if (stroke) return { kind: 'stroke', stroke };
  const scenario = rig.scenarios.find((s) => id === pictureId(rig, scenarioKey(s)));
  return scenario && isDrawn(rig, scenario, timing) ? { kind: 'scenario', scenario } : null;
}

/** The trace behind the picture with an id, as far as it is drawn; null where no stroke or scenario has it. */
export function pictureTrace(facts: RigFacts, id: string): Trace | null {
  const found = picturedAs(facts, id);
  if (!found) return null;
  return found.kind === 'stroke' ? withQuietEnd(found.stroke) : drawnCourse(facts.rig, found.scenario).trace;
}

/** The picture with an id, drawn without tolerances and tables; null where no stroke or scenario has it. */
export function pictureWithId(facts: RigFacts, id: string): TimingModel | null {
  const found = picturedAs(facts, id);
  if (!found) return null;
  if (found.kind === 'stroke') return timingModel(facts, found.stroke, new Map(), 'without tables');
  return followedModel(facts.rig, found.scenario);
}

/** The same with the earliest and latest moment of each edge of a stroke within tolerance. */
export function pictureWithTolerance(facts: RigFacts, id: string): TimingModel | null {
  const found = picturedAs(facts, id);
  return found?.kind === 'stroke' ? timingModel(facts, found.stroke) : pictureWithId(facts, id);
}

function followedModel(rig: Rig, scenario: Scenario): TimingModel {
  const course = drawnCourse(rig, scenario);
  const index = rig.scenarios.indexOf(scenario);
  const known = course.withContents ? FOLLOWED : {};
  const model = traceModel(rig, course.trace, nameOf(scenario), undefined, { scenario: index, ...known });
  const subtitle = model.subtitle + courseWords(course);
  return { ...model, scenario: index, subtitle, notes: [...model.notes, ...courseNotes(course)] };
}

function pendingModel(rig: Rig, scenario: Scenario): TimingModel {
  const end = drawnLength(scenario);
  const nothing: Trace = { start: 0, end, initial: [], edges: [], doors: [], stopped: null };
  const bare = { ...bareModel({ ...rig, doors: [] }, nothing, nameOf(scenario)), lanes: [] };
  const notes = [say`Following the scenario with the contents of its chambers…`];
  return { ...bare, scenario: rig.scenarios.indexOf(scenario), isPending: true, notes };
}

/** Without a medium a scenario of feeds and draws alone looks like the rig at rest: they have no part in its timing. */
function isDrawn(rig: Rig, { steps, duration }: Scenario, timing: TimingFacts): boolean {
  const operates = steps.some((s) => s.action !== 'feed' && s.action !== 'draw');
  return (operates || quickRun(rig) !== null) && duration !== null && timing.atRest.loop === null;
}

/** The scenario as `trace` has it and requirements read it. */
const drawnCourse = (rig: Rig, scenario: Scenario): ScenarioCourse =>
  scenarioTrace(rig, scenario, drawnLength(scenario));

const drawnLength = ({ duration }: Scenario): number => Math.min(duration?.nominal ?? 0, LONGEST_SCENARIO);

/** What following the scenario of a picture with its contents costs, in units of work on the flow; 0 for pictures without. */
export function pictureCost(facts: RigFacts, id: string): number {
  const found = picturedAs(facts, id);
  return found?.kind === 'scenario' ? drawnCourse(facts.rig, found.scenario).units : 0;
}

/** The picture of a scenario; null where it has none: no duration is stated, the rig never settles, or nothing in it turns. */
export function scenarioModel({ rig, timing }: RigFacts, scenario: Scenario): TimingModel | null {
  return isDrawn(rig, scenario, timing) ? followedModel(rig, scenario) : null;
}

/** The picture of one stroke; where `stroke` is null, the rig at rest. `ranges` gives edges their tolerance (as stated in the text). */
export function timingModel(
  facts: RigFacts,
  stroke: StrokeFacts | null,
  ranges: EdgeRanges | undefined = stroke ? statedRanges(facts, stroke) : undefined,
  tables: 'with tables' | 'without tables' = 'with tables',
): TimingModel {
  const { rig, timing } = facts;
  if (!stroke) return restModel(facts);
  const trigger = triggerText(stroke);
  const bare = bareModel(rig, withQuietEnd(stroke), { key: strokeKey(stroke), text: trigger }, ranges);
  const marks = marksOf({ rig }, stroke);
  return {
    ...bare,
    subtitle: `${say`One stroke from ${trigger}`} · ${repeatWords(rig, stroke)}`,
    home: homeOf({ start: bare.start, end: bare.end }, stroke.strokeEnds),
    marks,
    bands: bandsOf(rig, stroke.trace),
    repeat: stroke.repeat === null ? null : repeatFrom(bare.lanes, stroke.repeat),
    notes: [...bare.notes, ...strokeNotes(facts, stroke, marks), ...incomplete(timing.incomplete)],
    tables: tables === 'with tables' ? timingTables({ ...bare, marks }) : [],
  };
}

function statedRanges({ rig, timing }: RigFacts, stroke: StrokeFacts): EdgeRanges | undefined {
  return edgeRanges(rig, timing)[timing.strokes.indexOf(stroke)];
}

/** Scenarios are drawn up to here, microseconds. */
const LONGEST_SCENARIO = 24 * 3_600_000_000;

/** The picture of any trace: a scenario (`scenario`: its index), a counter-example. `name` tells what is drawn. */
export function traceModel(
  rig: Rig,
  trace: Trace,
  name: PictureName,
  ranges?: EdgeRanges,
  { scenario = null, ...known }: KnownTo & { readonly scenario?: number | null } = {},
): TimingModel {
  const bare = { ...bareModel(rig, trace, name, ranges), ...known };
  const marks = marksOf({ rig, ...known }, relationsOf(trace), scenario);
  return { ...bare, marks, bands: bandsOf(rig, trace, known), tables: timingTables({ ...bare, marks }) };
}

/** Lanes only, without relations between doors and without tables. */
function bareModel(rig: Rig, trace: Trace, name: PictureName, ranges?: EdgeRanges): TimingModel {
  const { doors, logic } = lanesOf(rig, trace, ranges);
  const lanes = [...doors, ...logic];
  return {
    id: pictureId(rig, name.key),
    title: rig.title || rig.name,
    subtitle: name.text,
    start: trace.start,
    end: trace.end,
    home: homeOf(trace, null),
    lanes,
    marks: [],
    bands: [],
    repeat: null,
    notes: stopNotes(rig, trace),
    tables: [],
  };
}

/** A rig that has fallen quiet stays as it is: a little of that is drawn too, so that one sees in what state. */
function withQuietEnd({ trace, repeat, pattern, intervals }: StrokeFacts): Trace {
  const isQuiet = repeat === null && pattern === null && intervals.length === 0 && trace.stopped === null;
  return isQuiet ? { ...trace, end: trace.end + Math.max(1, Math.round(trace.end * 0.1)) } : trace;
}

function restModel({ rig, timing }: RigFacts): TimingModel {
  const model = traceModel(rig, timing.atRest.trace, { key: 'at rest', text: say`at rest` });
  // Of a run that was cut off nothing is known but what was drawn.
  const first = timing.incomplete === null ? [restNote(rig, timing)] : [];
  return { ...model, notes: [...first, ...model.notes, ...incomplete(timing.incomplete)] };
}

/** The first opening of a door that comes again one interval later; the first strokes of a rig may come at other intervals. */
function repeatFrom(lanes: readonly Lane[], interval: number): TimingModel['repeat'] {
  let first = Infinity;
  for (const lane of lanes) {
    const opens = lane.edges.filter((e) => e.kind === 'opens').map((e) => e.t);
    const again = new Set(opens);
    const found = opens.find((t) => again.has(t + interval));
    if (found !== undefined) first = Math.min(first, found);
  }
  return first === Infinity ? null : { interval, at: first };
}

/** A little before the trigger to a little after the end, so that first and last edges stand free of the frame. */
function homeOf(trace: { start: number; end: number }, ends: number | null): { from: number; to: number } {
  // A rig that does nothing still gets a second of ruler.
  const to = (ends ?? trace.end) || 1_000_000;
  const margin = Math.max(1, Math.round(to * 0.05));
  return { from: trace.start - margin, to: Math.max(Math.min(trace.end, to + margin), to) };
}
