/** `caisson flow`: mass per stroke, strokes and time to a target, where it stalls, energy, sizing. */
import { caution } from '../../core/report/caution';
import { noted } from '../../core/diagram/kit/noted';
import { storeModels } from '../../core/diagram/store/model';
import { renderStoreSvg } from '../../core/diagram/store/picture';
import { flowJson } from '../../core/report/flow-json';
import { flowTable } from '../../core/report/flow-table';
import { scenarioFlowCsv, scenarioFlowJson, scenarioFlowTable } from '../../core/report/scenario-flow';
import type { RigFacts } from '../../core/run/facts';
import { openInputs } from '../inputs';
import { outputFormat, UsageError, type Io } from '../io';
import { type RigInput, selectRig, someRigs, selectScenario } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { besideRows, taken } from '../taken';
import { scenarioText as scenarioName } from '../../core/timing/words';

const FORMATS = ['table', 'csv', 'json'] as const;

export const flow: Command = {
  name: 'flow',
  words: 'FILE|FOLDER|- …',
  summary: 'what each stroke moves, strokes and time to a target, where it stalls, energy, lines and pumps needed',
  help: [
    '--json                  the same as JSON',
    '--format FORMAT         with --scenario: table (default), csv or json, every chamber over time',
    '--out FILE              with --scenario: write to a file',
    '--svg FILE              draw the curves of the rig by itself, or of --scenario',
    '--scenario NAME         follow this scenario instead: every chamber over time',
    '--rig NAME              only this rig',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    format: { type: 'string' },
    out: { type: 'string', short: 'o' },
    svg: { type: 'string' },
    scenario: { type: 'string' },
    rig: { type: 'string' },
  },
  choices: { format: FORMATS },
  run(io, words, values) {
    const inputs = openInputs(io, words, inputOptions(values));
    const rigs = someRigs(inputs, stringOf(values, 'rig'));
    const scenario = stringOf(values, 'scenario');
    const out = stringOf(values, 'out');
    if (scenario === undefined && (out !== undefined || values['format'] !== undefined))
      throw new UsageError('--format and --out go with --scenario.');
    if (scenario !== undefined) {
      const format = outputFormat(FORMATS, out, values['json'] ? 'json' : stringOf(values, 'format'));
      const text = scenarioText(selectRig(inputs, stringOf(values, 'rig')), scenario, format);
      if (out === undefined || out === '-') io.out(text);
      else io.write(out, text);
      if (format === 'csv') besideRows(io);
    } else if (values['json']) io.out(taken({ rigs: rigs.map((r) => flowJson(r.facts)) }));
    else io.out(rigs.map((r) => flowTable(r.facts).join('\n') + '\n').join('\n'));
    const picture = stringOf(values, 'svg');
    if (picture !== undefined) draw(io, picture, rigs[0]?.facts, stringOf(values, 'scenario'));
    return blockingErrors(io, inputs);
  },
};

function scenarioText({ facts }: RigInput, name: string, format: (typeof FORMATS)[number]): string {
  const { rig } = facts;
  const scenario = rig.scenarios.indexOf(selectScenario(rig, name)!);
  const none = 'This rig moves no medium: there are no contents to follow.\n';
  if (format === 'csv') return scenarioFlowCsv(facts, scenario) ?? none;
  if (format === 'json') return taken(scenarioFlowJson(facts, scenario));
  return scenarioFlowTable(facts, scenario)?.join('\n').concat('\n') ?? none;
}

function draw(io: Io, path: string, facts: RigFacts | undefined, scenario: string | undefined): void {
  const models = facts ? storeModels(facts) : [];
  const wanted = scenario === undefined ? models[0] : models.find((m) => m.name === scenarioName({ name: scenario }));
  if (!wanted)
    throw new UsageError(
      scenario === undefined ? 'There is no flow to draw.' : `No scenario called ${scenario} can be drawn.`,
    );
  io.write(path, noted(renderStoreSvg(wanted, { look: 'light', width: 1000 }), caution()));
}
