/** `caisson flow`: mass per stroke, strokes and time to a target, where it stalls, energy, sizing. */
import { storeModels } from '../../core/diagram/store/model';
import { renderStoreSvg } from '../../core/diagram/store/picture';
import { flowJson } from '../../core/report/flow-json';
import { flowTable } from '../../core/report/flow-table';
import type { RigFacts } from '../../core/run/facts';
import { openInputs } from '../inputs';
import { UsageError, type Io } from '../io';
import { selectRigs } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';

export const flow: Command = {
  name: 'flow',
  words: 'FILE|FOLDER|- …',
  summary: 'what each stroke moves, strokes and time to a target, where it stalls, energy, lines and pumps needed',
  help: [
    '--json                  the same as JSON',
    '--svg FILE              draw the curves of the rig by itself, or of --scenario',
    '--scenario NAME         which scenario to draw',
    '--rig NAME              only this rig',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    svg: { type: 'string' },
    scenario: { type: 'string' },
    rig: { type: 'string' },
  },
  run(io, words, values) {
    const inputs = openInputs(io, words, inputOptions(values));
    const rigs = selectRigs(inputs, stringOf(values, 'rig'));
    if (values['json']) io.out(JSON.stringify({ rigs: rigs.map((r) => flowJson(r.facts)) }, null, 2) + '\n');
    else io.out(rigs.map((r) => flowTable(r.facts).join('\n') + '\n').join('\n'));
    const picture = stringOf(values, 'svg');
    if (picture !== undefined) draw(io, picture, rigs[0]?.facts, stringOf(values, 'scenario'));
    return blockingErrors(io, inputs);
  },
};

function draw(io: Io, path: string, facts: RigFacts | undefined, scenario: string | undefined): void {
  const models = facts ? storeModels(facts) : [];
  const wanted = scenario === undefined ? models[0] : models.find((m) => m.name === `scenario ${scenario}`);
  if (!wanted)
    throw new UsageError(
      scenario === undefined ? 'There is no flow to draw.' : `No scenario called ${scenario} can be drawn.`,
    );
  io.write(path, renderStoreSvg(wanted, { look: 'light', width: 1000 }));
}
