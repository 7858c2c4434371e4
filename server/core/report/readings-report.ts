/** Text of comparisons, diagnoses and faults. Lines without line ends. */
import { dateText } from '../readings/cells';
import { clockText, deviationText, edgeName, type Comparison } from '../readings/compare';
import type { ComparedReading, ReadingPoint } from '../readings/compare-readings';
import { scaleOf } from '../readings/headings';
import type { Diagnosis } from '../readings/diagnose';
import type { FaultReport } from '../readings/faults';
import { classesIn, type LookedAt, type TestNode } from '../readings/fault-tree';
import { formatNumber, formatTime } from '../units/units';
import { textTable } from './text-table';
import { say } from '../words/say';
import { listText } from '../timing/words';

/** Explanations listed at most. */
const MOST_EXPLANATIONS = 5;

const timeOr = (t: number | null): string => (t === null ? '-' : clockText(t));

export function comparisonText({ edges, first, offset, driven, readings, summary, notes }: Comparison): string[] {
  const rows = edges.map((e) => [
    e.within ? 'ok' : 'DEVIATES',
    edgeName(e),
    timeOr(e.expected),
    timeOr(e.measured),
    deviationText(e),
    e.expected === null ? '' : `-${clockText(e.early)} +${clockText(e.late)}`,
  ]);
  const table = textTable(
    [['', 'edge', 'expected', 'measured', 'deviation', 'allowed'], ...rows],
    ['left', 'left', 'right', 'right', 'right', 'left'],
  );
  const chain = (first?.chain ?? []).map(
    (c) => `  ${formatTime(c.t)}  ${c.name}${c.preset > 0 ? say` (preset ${formatTime(c.preset)})` : ''}`,
  );
  return [
    summary,
    driven
      ? say`The rig is driven by the inputs as logged; times count from the first moment of the log (${momentOfLog(offset)}); edges of doors are taken half way.`
      : say`Time zero of the rig is ${momentOfLog(offset)} in the log; edges of doors are taken half way.`,
    ...(rows.length > 0 ? table : []),
    ...(chain.length > 0 ? [say`Chain of causes of the first deviation:`, ...chain] : []),
    ...readingsTable(readings, offset),
    ...notes,
  ];
}

const YEAR = 365 * 86_400e6;

/** A moment of the clock of the log: a date where the log has dates. */
const momentOfLog = (t: number): string => (t < YEAR ? clockText(t) : dateText(t));

/** One line a column of readings: how far it strays from what is expected, in its own unit. */
function readingsTable(readings: readonly ComparedReading[], offset: number): string[] {
  if (readings.length === 0) return [];
  const rows = readings.map((r) => {
    const scale = scaleOf(r.unit) ?? { factor: 1, offset: 0 };
    const off = (p: ReadingPoint): number => Math.abs(p.measured - p.expected);
    const worst = r.points.reduce((a, b) => (off(b) > off(a) ? b : a), r.points[0]!);
    const number = (v: number): string => `${formatNumber((v - scale.offset) / scale.factor)} ${r.unit}`;
    return [
      r.within ? 'ok' : 'DEVIATES',
      r.heading,
      clockText(worst.t - offset),
      number(worst.expected),
      number(worst.measured),
      `${r.outside} of ${r.points.length}`,
      r.first ? clockText(r.first.t - offset) : '-',
    ];
  });
  const head = ['', 'readings', say`farthest at`, 'expected', 'measured', say`points outside`, say`outside from`];
  return textTable([head, ...rows], ['left', 'left', 'right', 'right', 'right', 'right', 'right']);
}

export function diagnosisText({ ranking, next, summary }: Diagnosis): string[] {
  const likely = ranking.filter((e, k) => k === 0 || e.probability >= 0.0005).slice(0, MOST_EXPLANATIONS);
  const lines = likely.map(({ modes, probability, unexplained }, k) => {
    const left = unexplained > 0 ? `; ${unexplained} ${unexplained === 1 ? 'edge' : 'edges'} unexplained` : '';
    return `${k + 1}. ${(100 * probability).toFixed(1)} %  ${modes.join(', or ')}${left}`;
  });
  if (!next && ranking[0]!.modes.length > 1)
    lines.push(
      say`Nothing outside and no signal tells these apart: check the wire, the block and the door themselves.`,
    );
  if (!next) return [summary, ...lines];
  const outcomes = next.outcomes.map(({ seen, modes }) => `  ${seen}: ${modes.join(', or ')}`);
  return [summary, ...lines, say`Look next at ${lookWords(next)}, ${momentText(next.t, next.stimulus)}:`, ...outcomes];
}

const NAMED: readonly string[] = ['door', 'feed', 'draw', 'signal'];

/** `door upper`, `the pressure in vault`. */
export const lookWords = ({ of, name }: { readonly of: LookedAt; readonly name: string }): string =>
  NAMED.includes(of) ? `${of} ${name}` : say`the ${of} in ${name}`;

/** `2.3 s after ready goes on`; before it the rig is at rest, from power-on. */
export const momentText = (t: number, stimulus: string): string =>
  t < 0 ? say`at rest, before ${stimulus.replace(/^after /, '')}` : `${clockText(t)} ${stimulus}`;

const NOT_NOTICED = (): string => say`by no sensor`;

/** One class: failure modes that look the same, what is seen, what of the rig would notice, and what tells them apart. */
export interface FaultRow {
  readonly modes: readonly string[];
  readonly effects: readonly string[];
  readonly detection: string;
  /** The look, then what each outcome leaves; empty for a class of one. */
  readonly apart: readonly string[];
}

/** One row a class, the sound one first. */
export function faultRows(report: FaultReport): FaultRow[] {
  return report.classes.flatMap((c, k) => {
    const modes = c.members.map((m) => report.effects[m]!.fault.mode);
    if (modes.length === 0) return [];
    const effects = [
      k === 0 || c.contents ? say`doors, feeds and draws move and run at the times designed` : '',
      c.contents ? say`seen on a gauge: ${c.contents.words}, ${momentText(c.contents.t, c.contents.stimulus)}` : '',
      c.straight.length > 0 ? say`DANGEROUS: opens straight through ${c.straight.join('; ')}` : '',
      c.first ? firstText(c.first) : '',
      c.neverMove.length > 0 ? say`never moves: ${c.neverMove.join(', ')}` : '',
      c.leftOpen.length > 0 ? say`left open: ${c.leftOpen.join(', ')}` : '',
      c.neverRun.length > 0 ? say`never runs: ${c.neverRun.join(', ')}` : '',
      c.leftRunning.length > 0 ? say`left running: ${c.leftRunning.join(', ')}` : '',
      c.broken.length > 0 ? `breaks: ${c.broken.join('; ')}` : '',
    ].filter((e) => e !== '');
    const detection = c.noticedBy.length > 0 ? c.noticedBy.join(', ') : NOT_NOTICED();
    return [{ modes, effects, detection, apart: apartWords(c.apart, modes) }];
  });
}

function firstText({ t, stimulus, words }: NonNullable<FaultReport['classes'][number]['first']>): string {
  return say`first seen: ${words}, ${momentText(t, stimulus)}`;
}

/** The first look at a signal that divides members that look the same from outside. */
function apartWords(tree: TestNode | null, names: readonly string[]): string[] {
  if (names.length < 2) return [];
  if (tree?.kind !== 'look') return [say`nothing outside and no signal tells them apart`];
  const outcomes = tree.outcomes.map(
    ({ seen, then }) =>
      `${seen}: ${classesIn(then)
        .map((k) => names[k]!)
        .join('; ')}`,
  );
  return [say`signal ${tree.name}, ${momentText(tree.t, tree.stimulus)}`, ...outcomes];
}

/** Failure modes, effects and detection (terms of IEC 60812), then the looks that tell the classes apart. */
export function faultsText(report: FaultReport): string[] {
  const { classes, effects } = report;
  const count = (which: (c: FaultReport['classes'][number], k: number) => boolean): number =>
    classes.reduce((n, c, k) => n + (which(c, k) ? c.members.length : 0), 0);
  const counts = [
    [String(count((c) => c.straight.length > 0)), say`open a path straight through`],
    [String(count((c) => c.broken.length > 0)), say`break a requirement`],
    [String(count((_, k) => k === 0)), say`cannot be seen from outside`],
  ];
  const already = alreadyWords(report);
  const rows = faultRows(report).flatMap((row, k) => rowLines(row, `${k}.`));
  const summary = [say`${effects.length} single faults:`, ...textTable(counts, ['right', 'left'])];
  if (already !== null) summary.push(already);
  const followed = say`Followed from power-on:  ${report.stimuli.join('; ')}.`;
  const table = textTable(rows, ['right', 'left', 'left']);
  return [...summary, followed, '', ...table, '', say`Looks that tell them apart:`, ...keyText(report)];
}

/** What is wrong without any fault, in one sentence; null where nothing is. */
export function alreadyWords({ already: { straight, broken } }: FaultReport): string | null {
  const wrong = [
    straight.length > 0 ? say`opens straight through ${straight.join('; ')}` : '',
    broken.length > 0 ? say`does not meet ${broken.join('; ')}` : '',
  ].filter((w) => w !== '');
  return wrong.length === 0 ? null : say`As designed the rig ${listText(wrong)}: no fault is counted for that.`;
}

/** A label and what belongs to it in columns of their own: on a terminal a long list goes on below its beginning. */
function rowLines({ modes, effects, detection, apart }: FaultRow, number: string): string[][] {
  const labelled = (label: string, lines: readonly string[]): string[][] =>
    lines.map((line, k) => ['', k === 0 ? label : '', line]);
  const [first, ...rest] = [
    ...labelled(say`failure mode`, [modes.join('; ')]),
    ...labelled('effect', effects),
    ...labelled('detection', [detection]),
    ...labelled(say`distinguished by`, apart),
  ];
  return [[number, ...first!.slice(1)], ...rest];
}

/** Failure modes named at a leaf; the number of the class leads to the rest. */
const MOST_AT_LEAF = 2;

/** The looks as a key: each has a number, and an outcome names what it is or the look to go on with. A tree of many steps stays narrow. */
function keyText(report: FaultReport): string[] {
  const looks = looksIn(report.tree);
  const goals = (then: TestNode): string[] =>
    then.kind === 'leaf'
      ? then.classes.map((c) => leafText(report, c))
      : [say`go on with look ${looks.indexOf(then) + 1}`];
  if (report.tree.kind === 'leaf') return goals(report.tree).map((goal) => `  ${goal}`);
  return looks.flatMap((node, k) => [
    say`  look ${k + 1}:  ${lookWords(node)}, ${momentText(node.t, node.stimulus)}`,
    ...node.outcomes.flatMap(({ seen, then }) => goals(then).map((goal) => `    ${seen}:  ${goal}`)),
  ]);
}

type Look = TestNode & { readonly kind: 'look' };

/** Each before those that follow from it. */
const looksIn = (node: TestNode): Look[] =>
  node.kind === 'leaf' ? [] : [node, ...node.outcomes.flatMap(({ then }) => looksIn(then))];

function leafText({ classes, effects }: FaultReport, c: number): string {
  const names = classes[c]!.members.map((m) => effects[m]!.fault.mode);
  if (c === 0) return names.length === 0 ? say`as designed` : say`as designed, or what is not seen (0.)`;
  const more = names.length > MOST_AT_LEAF ? say` and ${names.length - MOST_AT_LEAF} more` : '';
  return `${c}.  ${names.slice(0, MOST_AT_LEAF).join('; ')}${more}`;
}
