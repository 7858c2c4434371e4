/** `caisson trace`: every edge of every switch, sensor, signal and door, as CSV, JSON or a value change dump. */
import type { Rig } from '../../core/model/rig';
import { closedLine } from '../../core/report/scenario-flow';
import { quickRun, scenarioTrace } from '../../core/run/scenario-run';
import { tracedParts, traceScenario } from '../../core/timing/scenario';
import { csvPieces, jsonPieces } from '../../core/timing/trace-export';
import type { Trace } from '../../core/timing/trace';
import { caution } from '../../core/report/caution';
import { vcdPieces } from '../../core/timing/vcd';
import { formatTime, parseTime } from '../../core/units/units';
import { openInputs } from '../inputs';
import { outputFormat, UsageError } from '../io';
import { selectRig, selectScenario, selectStroke, type RigInput } from '../select';
import { besideRows } from '../taken';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { blockingErrors } from './blocking';

const FORMATS = ['csv', 'json', 'vcd'] as const;

export const trace: Command = {
  name: 'trace',
  words: 'FILE|-',
  summary: 'every edge of every switch, sensor, signal and door',
  help: [
    '--scenario NAME         the scenario to follow (default: the trigger goes on once and holds)',
    '--until TIME            how long, such as "30 s" (default: the scenario, or two strokes)',
    '--format FORMAT         csv (default), json, or vcd (IEEE 1364 value change dump)',
    '--rig NAME              which rig, where the file has several',
    '--out FILE              write to a file',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    scenario: { type: 'string' },
    until: { type: 'string' },
    format: { type: 'string' },
    json: { type: 'boolean' },
    rig: { type: 'string' },
    out: { type: 'string', short: 'o' },
  },
  choices: { format: FORMATS },
  run(io, words, values) {
    const out = stringOf(values, 'out');
    const format = outputFormat(FORMATS, out, values['json'] ? 'json' : stringOf(values, 'format'));
    const inputs = openInputs(io, words, inputOptions(values));
    const chosen = selectRig(inputs, stringOf(values, 'rig'));
    const traced = tracedBy(chosen, stringOf(values, 'scenario'), stringOf(values, 'until'));
    const pieces = PIECES[format](traced.rig, traced.parts());
    if (out === undefined || out === '-') for (const piece of pieces) io.out(piece);
    else io.write(out, pieces);
    if (format === 'csv') besideRows(io);
    const early = traced.endsEarly();
    if (early !== null) io.err(`caisson: ${early}\n`);
    for (const line of traced.counted()) io.err(`caisson: ${line}\n`);
    return Math.max(early === null ? 0 : 1, blockingErrors(io, inputs));
  },
};

/** The course that `--scenario` and `--until` ask for: the scenario, or the trigger alone. */
export function chosenCourse(chosen: RigInput, scenarioName?: string, untilText?: string) {
  const { rig } = chosen.facts;
  const { scenario, until } = courseOf(chosen, scenarioName, untilText);
  const trace = scenario ? scenarioTrace(rig, scenario, until).trace : traceScenario(rig, null, until);
  return { scenario, until, trace };
}

function courseOf({ facts }: RigInput, scenarioName?: string, untilText?: string) {
  const scenario = selectScenario(facts.rig, scenarioName);
  const until = untilText === undefined ? defaultUntil(facts, scenario?.duration?.nominal) : parseUntil(untilText);
  return { scenario, until };
}

/** A dump names the caution first, JSON last. */
function* dumped(...course: Parameters<typeof vcdPieces>): ReturnType<typeof vcdPieces> {
  yield `$comment ${caution()} $end\n`;
  yield* vcdPieces(...course);
}

function* cautioned(...course: Parameters<typeof jsonPieces>): ReturnType<typeof jsonPieces> {
  let held = '';
  for (const piece of jsonPieces(...course)) {
    if (held !== '') yield held;
    held = piece;
  }
  yield held.replace(/\}\n$/, `,"caution":${JSON.stringify(caution())}}\n`);
}

const PIECES = { csv: csvPieces, json: cautioned, vcd: dumped };

/** Edges of a trace that states neither a scenario nor how long. */
const MOST_UNASKED = 300_000;

interface Traced {
  readonly rig: Rig;
  /** The trace in parts, computed as they are taken. */
  parts(): Iterable<Trace>;
  /** Why it ends before its time, in one sentence, once all parts are taken; null where it does not. */
  endsEarly(): string | null;
  /** Which parts are periods counted and not followed, in one sentence each. */
  counted(): readonly string[];
}

function tracedBy(chosen: RigInput, scenarioName?: string, untilText?: string): Traced {
  const { rig } = chosen.facts;
  const { scenario, until } = courseOf(chosen, scenarioName, untilText);
  // Contents are followed as a whole; operations alone can be traced in parts, however long.
  if (scenario && quickRun(rig)) {
    const { trace: whole, left, closed } = scenarioTrace(rig, scenario, until);
    const why = left ? `The trace ends at ${formatTime(left.t)}: ${left.why}.` : stoppedEarly(rig, whole);
    return { rig, parts: () => [whole], endsEarly: () => why, counted: () => closed.map(closedLine) };
  }
  let last: Trace | null = null;
  return {
    rig,
    *parts() {
      // Very many changes are followed only where a time is stated.
      const most = scenario || untilText !== undefined ? {} : { most: MOST_UNASKED };
      for (const part of tracedParts(rig, scenario, until, most)) yield (last = part);
    },
    endsEarly: () => last && stoppedEarly(rig, last),
    counted: () => [],
  };
}

function stoppedEarly(rig: Rig, { end, stopped }: Trace): string | null {
  if (stopped === null) return null;
  const at = `The trace ends at ${formatTime(end)}`;
  if (stopped.reason === 'budget')
    return `${at}, after more changes than are followed; give a shorter time with --until.`;
  const names = [...rig.switches, ...rig.sensors, ...rig.signals].filter(({ net }) => stopped.nets.includes(net));
  return `${at}: ${names.map((s) => s.name).join(' and ') || 'the control'} would change without end at this moment.`;
}

function parseUntil(text: string): number {
  const time = parseTime(text);
  if (time === null || time <= 0)
    throw new UsageError(`--until wants a time with its unit, such as "30 s", not ${text}.`);
  return time;
}

function defaultUntil(facts: RigInput['facts'], scenario: number | undefined): number {
  if (scenario !== undefined) return scenario;
  const stroke = selectStroke(facts, undefined);
  const length = stroke ? Math.max(2 * (stroke.repeat ?? 0), stroke.strokeEnds ?? 0) : 0;
  return length > 0 ? length : 60_000_000;
}
