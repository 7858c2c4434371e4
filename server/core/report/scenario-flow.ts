/**
 * A scenario followed with its contents: every chamber over time, as a readable table, as comma-separated values and as JSON, so that
 * a log of a built rig can be laid beside it. JSON and CSV in SI units (s, kg, Pa, K, m, J).
 */
import type { ChamberState } from '../flow/facts';
import { stateOf } from '../flow/states';
import type { Rig } from '../model/rig';
import type { ClosedPeriod } from '../run/closed-periods';
import type { CoupledRun } from '../run/coupled';
import type { RigFacts } from '../run/facts';
import { scenarioDoubts } from '../run/flow-doubts';
import { quickRun, scenarioRun } from '../run/scenario-run';
import { formatAlike, formatNumber, formatSi, formatFollowed, formatTime } from '../units/units';
import { caution } from './caution';
import { type StateJson, stateJson } from './flow-json';
import { textTable } from './text-table';

export interface ScenarioFlowJson {
  readonly name: string;
  readonly scenario: string;
  readonly medium: { readonly name: string; readonly law: string; readonly phase: string };
  /** The rig is followed as its sensors, feeds and doors run; `periods`: but for periods that are counted, see `closed`. */
  readonly obtained: 'followed' | 'periods';
  readonly seconds: number;
  /** When (seconds) and why the run ends before its time; null where it does not. */
  readonly left: { readonly seconds: number; readonly why: string } | null;
  /**
   * Stretches in which the rig does one period over and over: the one from `from` on was followed, the `times` after it, until `until`, are
   * counted. `error`: of contents, as a part of what is held; `moments`: of times at its end, s. Seconds.
   */
  readonly closed: readonly {
    readonly from: number;
    readonly period: number;
    readonly times: number;
    readonly until: number;
    readonly error: number;
    readonly moments: number;
  }[];
  /** What should not be believed, and why. */
  readonly doubts: readonly string[];
  readonly chambers: readonly {
    readonly name: string;
    readonly final: StateJson;
    readonly highest: StateJson;
    readonly lowest: StateJson;
    /** Seconds at which it is first above its limit; null where it never is. */
    readonly overLimit: number | null;
  }[];
  readonly lines: readonly { readonly name: string; readonly kind: 'feed' | 'draw'; readonly mass: number }[];
  readonly points: readonly {
    readonly seconds: number;
    readonly strokes: number;
    /** J since the start. */
    readonly energy: number;
    /** In the order of `chambers`. */
    readonly chambers: readonly StateJson[];
  }[];
}

interface Point {
  readonly t: number;
  readonly strokes: number;
  readonly energy: number;
  readonly states: readonly ChamberState[];
}

/** Chambers that have contents of their own: all but the atmosphere. */
const shownChambers = (rig: Rig): number[] => rig.chambers.flatMap((chamber, k) => (chamber.endless ? [] : [k]));

/** The scenario's points; null where the rig moves no medium. */
function pointsOf({ rig }: RigFacts, scenario: number): readonly Point[] | null {
  const model = quickRun(rig)?.model;
  const run = scenarioRun(rig, scenario);
  if (!model || !run) return null;
  const shown = shownChambers(rig);
  return run.points.map(({ t, strokes, energy, mass, temperature }) => ({
    t,
    strokes,
    energy,
    states: shown.map((k) => stateOf(model, k, mass[k]!, temperature[k]!)),
  }));
}

/** The scenario as data; null where the rig moves no medium. */
export function scenarioFlowJson(facts: RigFacts, scenario: number): ScenarioFlowJson | null {
  const { rig, flow } = facts;
  const points = pointsOf(facts, scenario);
  const run = scenarioRun(rig, scenario);
  if (!points || !run || !flow?.medium) return null;
  const { name, title, phase } = flow.medium;
  return {
    name: rig.name,
    scenario: rig.scenarios[scenario]!.name,
    medium: { name, law: title, phase },
    obtained: run.closed.length > 0 ? 'periods' : 'followed',
    seconds: run.until / 1e6,
    left: run.left && { seconds: run.left.t / 1e6, why: run.left.why },
    closed: run.closed.map(({ from, period, times, until, error, drift }) => ({
      from: from / 1e6,
      period: period / 1e6,
      times,
      until: until / 1e6,
      error,
      moments: drift / 1e6,
    })),
    doubts: doubtsIn(rig, run),
    chambers: shownChambers(rig).map((k) => ({
      name: rig.chambers[k]!.name,
      final: stateJson(run.final[k]!),
      highest: stateJson(run.highest[k]!),
      lowest: stateJson(run.lowest[k]!),
      overLimit: run.overLimit[k] === null ? null : run.overLimit[k]! / 1e6,
    })),
    lines: rig.lines.map((line, k) => ({ name: line.name, kind: line.kind, mass: run.lines[k]! })),
    points: points.map(({ t, strokes, energy, states }) => ({
      seconds: t / 1e6,
      strokes,
      energy,
      chambers: states.map(stateJson),
    })),
  };
}

/** What a column of the table and of CSV gives of a state; null where the medium has none. */
const COLUMNS = [
  { head: 'mass', unit: 'kg', of: (s: ChamberState) => s.mass },
  { head: 'pressure', unit: 'Pa', of: (s: ChamberState) => s.pressure },
  { head: 'level', unit: 'm', of: (s: ChamberState) => s.level },
  { head: 'temperature', unit: 'K', of: (s: ChamberState) => s.temperature },
] as const;

/** One line per point, `t_s,strokes,receiver.mass_kg,…`; null where the rig moves no medium. */
export function scenarioFlowCsv(facts: RigFacts, scenario: number): string | null {
  const points = pointsOf(facts, scenario);
  if (!points) return null;
  const used = COLUMNS.filter(({ of }) => points.some((p) => p.states.some((s) => of(s) !== null)));
  const heads = shownChambers(facts.rig).flatMap((k) =>
    used.map(({ head, unit }) => `${facts.rig.chambers[k]!.name}.${head}_${unit}`),
  );
  const rows = points.map(({ t, strokes, states }) =>
    [t / 1e6, strokes, ...states.flatMap((s) => used.map(({ of }) => rounded(of(s))))].join(','),
  );
  return [['t_s', 'strokes', ...heads].join(','), ...rows, ''].join('\n');
}

/** Nine digits: finer than anything that is computed here is known. */
const rounded = (value: number | null): string => (value === null ? '' : String(Number(value.toPrecision(9))));

/** Rows of the table. */
const ROWS = 20;

/** The scenario as a table with its assumptions; null where the rig moves no medium. */
export function scenarioFlowTable(facts: RigFacts, scenario: number): string[] | null {
  const { rig, flow } = facts;
  const points = pointsOf(facts, scenario);
  const run = scenarioRun(rig, scenario);
  if (!points || !run || !flow?.medium) return null;
  const warm =
    flow.medium.phase === 'gas' &&
    points.some((p) => p.states.some((s) => s.temperature !== points[0]!.states[0]!.temperature));
  const shown = shownChambers(rig);
  const linesText = formatAlike(run.lines, 'mass');
  const kept = thinned(points);
  const massText = formatAlike(
    kept.flatMap(({ states }) => states.map((s) => s.mass)),
    'mass',
  );
  const reading = readings(kept.flatMap(({ states }) => states));
  const rows = [['time', 'strokes', ...shown.flatMap((k) => [rig.chambers[k]!.name, '', ...(warm ? [''] : [])])]];
  for (const { t, strokes, states } of kept) {
    rows.push([
      formatFollowed(t),
      String(strokes),
      ...states.flatMap((s) => [
        massText(s.mass),
        reading(s),
        ...(warm ? [formatSi(s.temperature, 'temperature')] : []),
      ]),
    ]);
  }
  return [
    `${rig.name}, scenario ${rig.scenarios[scenario]!.name}, followed for ${formatTime(run.until)}:`,
    `${flow.medium.name}, ${flow.medium.title}.`,
    '',
    ...textTable(
      rows,
      rows[0]!.map(() => 'right' as const),
    ),
    ...afterGap([
      ...shown.flatMap((k) => overLine(rig, k, run.overLimit[k] ?? null)),
      ...rig.lines.map((line, k) => `  ${line.kind} ${line.name}: ${linesText(run.lines[k]!)} in all.`),
      ...run.closed.map((closed) => `  ${closedLine(closed)}`),
      ...(run.left ? [`  It ends at ${formatFollowed(run.left.t)}: ${run.left.why}.`] : []),
      ...doubtsIn(rig, run).map((doubt) => `  Not to be relied on: ${doubt}`),
    ]),
    '',
    caution(),
  ];
}

const afterGap = (lines: readonly string[]): string[] => (lines.length > 0 ? ['', ...lines] : []);

/** Which part is counted and not followed, and how well. */
export function closedLine({ from, period, times, until, error, drift }: ClosedPeriod): string {
  const [since, end] = [from + period, until].map((t) => formatFollowed(t));
  const within = formatNumber(Number((100 * Math.max(error, 1e-6)).toPrecision(1)));
  const moments = formatTime(Math.max(1, Math.ceil(drift / 1e3)) * 1e3);
  return `From ${since} to ${end} it does the same every ${formatFollowed(period)}: ${times} periods are counted, not followed one by one; contents within ${within} %, times within ${moments}.`;
}

const doubtsIn = (rig: Rig, { highest }: CoupledRun): string[] => scenarioDoubts(rig, quickRun(rig)!.model, highest);

function overLine(rig: Rig, k: number, at: number | null): string[] {
  return at === null ? [] : [`  OVER LIMIT: ${rig.chambers[k]!.name} from ${formatFollowed(at)}.`];
}

/** The figure by which a medium is judged, all in one unit. */
function readings(states: readonly ChamberState[]): (state: ChamberState) => string {
  const of = (key: 'level' | 'pressure' | 'density', dimension: 'length' | 'pressure' | 'density') =>
    formatAlike(
      states.map((s) => s[key]),
      dimension,
    );
  const [level, pressure, density] = [of('level', 'length'), of('pressure', 'pressure'), of('density', 'density')];
  return (s) => (s.level !== null ? level(s.level) : s.pressure === null ? density(s.density) : pressure(s.pressure));
}

/** About `ROWS` points, those nearest to even times, the first and the last among them. */
function thinned(points: readonly Point[]): readonly Point[] {
  const last = points[points.length - 1];
  if (!last || points.length <= ROWS) return points;
  const kept: Point[] = [];
  let at = 0;
  for (let k = 0; k < ROWS; k++) {
    const wanted = (last.t * k) / ROWS;
    while (at < points.length - 1 && Math.abs(points[at + 1]!.t - wanted) <= Math.abs(points[at]!.t - wanted)) at++;
    if (kept[kept.length - 1] !== points[at]) kept.push(points[at]!);
  }
  return [...kept, last];
}
