/** A comparison of readings, and a diagnosis, as data for pictures and tables of the preview. */
import { deviationText, edgeName, clockText, type ComparedEdge, type Comparison } from '../readings/compare';
import type { ComparedReading } from '../readings/compare-readings';
import type { Diagnosis } from '../readings/diagnose';
import type { RigLog } from '../readings/log';
import { follow, stimuliOf, type Stimulus } from '../readings/stimulus';
import { modelFlow } from '../flow/flow-model';
import type { RigFacts } from '../run/facts';
import { strokeKey } from '../timing/words';
import type { MeasuredEdge } from '../diagram/timing/layout';
import { pictureId, scenarioKey, traceModel, type TimingModel } from '../diagram/timing/model';
import type { Series, StoreModel } from '../diagram/store/model';
import { say } from '../words/say';
import { lookWords, momentText } from './readings-report';

export interface ComparedPictures {
  /** Id of the picture that the edges are drawn over. */
  readonly picture: string;
  /** That picture, where the rig's own are of other courses: its inputs act as they were logged. */
  readonly timing: TimingModel | null;
  /** Times of the picture. */
  readonly edges: readonly MeasuredEdge[];
  /** What the chambers should have held, and what was read; both null without such columns. */
  readonly expected: StoreModel | null;
  readonly measured: StoreModel | null;
  readonly summary: string;
  /** What deviates, in rows: `upper opens`, `2.3 s`, `2.42 s`, `120 ms late`, `−20 ms +20 ms`. */
  readonly deviations: readonly (readonly string[])[];
  readonly notes: readonly string[];
}

export function comparedPictures(
  facts: RigFacts,
  log: RigLog,
  stimulus: Stimulus,
  compared: Comparison,
): ComparedPictures {
  const own = pictureOf(facts, stimulus);
  const timing = own === null ? loggedPicture(facts, log, stimulus) : null;
  const picture = own ?? timing!.id;
  const off = compared.edges.filter((e) => !e.within);
  return {
    picture,
    timing,
    edges: compared.edges.map(measuredEdge),
    ...runsOf(facts, picture, compared),
    summary: compared.summary,
    deviations: off.map((e) => [
      edgeName(e),
      e.expected === null ? say`not due` : clockText(e.expected),
      e.measured === null ? say`not seen` : clockText(e.measured),
      deviationText(e),
      e.expected === null ? '' : `−${clockText(e.early)} +${clockText(e.late)}`,
    ]),
    notes: [...compared.notes, ...log.exclusions],
  };
}

/** The rig's own picture of the same course; null where its inputs act as they were logged, or it has none. */
function pictureOf({ rig, timing }: RigFacts, { label, scenario, given }: Stimulus): string | null {
  if (scenario) return pictureId(rig, scenarioKey(scenario));
  if (given.size > 0) return null;
  const index = stimuliOf(rig, timing).findIndex((s) => s.scenario === null && s.label === label);
  const stroke = timing.strokes[index];
  return stroke ? pictureId(rig, strokeKey(stroke)) : null;
}

function loggedPicture({ rig }: RigFacts, log: RigLog, stimulus: Stimulus): TimingModel {
  const length = Math.max(stimulus.length, log.times.at(-1)! - log.times[0]!);
  const whole = traceModel(rig, follow(rig, rig, stimulus, length), {
    key: 'as logged',
    text: say`inputs as logged`,
  });
  // The rest before the log is nothing to look at.
  const margin = Math.round(length * 0.03);
  return { ...whole, home: { from: -margin, to: length + margin } };
}

function measuredEdge(edge: ComparedEdge): MeasuredEdge {
  const { of, name, expected, measured, within } = edge;
  const length = deviationText(edge);
  const lane = of === 'door' ? `door:${name}` : `net:${name}`;
  return { lane, expected, measured, within, length, text: say`${edgeName(edge)}, measured: ${length}` };
}

// ---------------------------------------------------------------- contents

const SHOWN = {
  pressure: { unit: 'bar', size: 1e5 },
  density: { unit: 'kg/m3', size: 1 },
  mass: { unit: 'kg', size: 1 },
  level: { unit: 'm', size: 1 },
} as const;

/** More points than this no screen shows apart. */
const MOST_POINTS = 800;

function runsOf(
  facts: RigFacts,
  picture: string,
  { readings, offset }: Comparison,
): Pick<ComparedPictures, 'expected' | 'measured'> {
  if (readings.length === 0 || !modelFlow(facts.rig).model) return { expected: null, measured: null };
  const { rig } = facts;
  const run = (which: 'expected' | 'measured'): StoreModel => ({
    id: picture,
    name: 'readings',
    title: rig.title || rig.name,
    subtitle: say`What the rig as written would hold, and dashed what was read`,
    series: readings.map((r) => seriesOf(rig.chambers[r.chamber]!.name, r, which, offset)),
    marks: [],
    strokes: thinned(readings[0]!.points).map((p) => ({ t: Math.round(p.t - offset), number: 0 })),
    notes: readings.filter((r) => !r.within).map((r) => deviationOf(r, offset)),
    tables: [],
  });
  return { expected: run('expected'), measured: run('measured') };
}

const deviationOf = ({ heading, outside, points, first }: ComparedReading, offset: number): string =>
  say`${heading}: ${outside} of ${points.length} readings are outside${first ? say`, from ${clockText(first.t - offset)} on` : ''}`;

function seriesOf(
  chamber: string,
  { sensed, points }: ComparedReading,
  which: 'expected' | 'measured',
  offset: number,
): Series {
  const { unit, size } = SHOWN[sensed];
  return {
    id: `${sensed}:${chamber}`,
    name: chamber,
    unit,
    points: thinned(points).map((p) => ({ t: Math.round(p.t - offset), value: p[which] / size })),
  };
}

function thinned<T>(all: readonly T[]): readonly T[] {
  if (all.length <= MOST_POINTS) return all;
  const step = (all.length - 1) / (MOST_POINTS - 1);
  return Array.from({ length: MOST_POINTS }, (_, k) => all[Math.round(k * step)]!);
}

// ---------------------------------------------------------------- diagnosis

/** Explanations listed at most. */
const MOST_EXPLANATIONS = 5;
/** Less likely ones are not listed. */
const LEAST = 0.0005;

export function diagnosisData({ ranking, next, summary }: Diagnosis) {
  return {
    summary,
    ranking: ranking
      .filter((e, k) => k === 0 || e.probability >= LEAST)
      .slice(0, MOST_EXPLANATIONS)
      // Never a certainty: the faults that are known are not all there are.
      .map((e) => ({ share: `${Math.min(99.9, 100 * e.probability).toFixed(1)} %`, what: e.modes.join(', or ') })),
    next: next && {
      look: say`Look next at ${lookWords(next)}, ${momentText(next.t, next.stimulus)}.`,
      outcomes: next.outcomes.map(({ seen, modes }) => ({ seen, leaves: modes.join(', or ') })),
    },
  };
}
