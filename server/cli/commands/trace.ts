/** `caisson trace`: every edge of every switch, sensor, signal and door, as CSV, JSON or a value change dump. */
import type { Rig, Scenario } from '../../core/model/rig';
import { runCoupled } from '../../core/run/coupled';
import { quickRun } from '../../core/run/scenario-run';
import { traceScenario } from '../../core/timing/scenario';
import { traceCsv, traceJson } from '../../core/timing/trace-export';
import type { Trace } from '../../core/timing/trace';
import { traceVcd } from '../../core/timing/vcd';
import { parseTime } from '../../core/units/units';
import { openInputs, type Input } from '../inputs';
import { outputFormat, UsageError } from '../io';
import { selectRig, selectScenario, selectStroke, type RigInput } from '../select';
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
    const text = traceText(chosen, format, stringOf(values, 'scenario'), stringOf(values, 'until'));
    if (out === undefined || out === '-') io.out(text);
    else io.write(out, text);
    return blockingErrors(io, inputs as Input[]);
  },
};

/** The course that `--scenario` and `--until` ask for: the scenario, or the trigger alone. */
export function chosenCourse({ facts }: RigInput, scenarioName?: string, untilText?: string) {
  const { rig } = facts;
  const scenario = selectScenario(rig, scenarioName);
  const until = untilText === undefined ? defaultUntil(facts, scenario?.duration?.nominal) : parseUntil(untilText);
  return { scenario, until, trace: followed(rig, scenario, until) ?? traceScenario(rig, scenario, until) };
}

function traceText(chosen: RigInput, format: string, scenarioName?: string, untilText?: string): string {
  const { rig } = chosen.facts;
  const result = chosenCourse(chosen, scenarioName, untilText).trace;
  if (format === 'vcd') return traceVcd(rig, result);
  return format === 'json' ? traceJson(rig, result) : traceCsv(rig, result);
}

/** A scenario of a rig that moves a medium: its contents move its sensors. Null for any other trace. */
function followed(rig: Rig, scenario: Scenario | null, until: number): Trace | null {
  const model = scenario === null ? null : quickRun(rig)?.model;
  return model ? runCoupled(rig, model, { scenario, until }).trace : null;
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
