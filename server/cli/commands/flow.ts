/** `caisson flow`: mass per stroke, strokes and time to a target, where it stalls, energy, sizing. */
import { flowJson } from '../../core/report/flow-json';
import { flowTable } from '../../core/report/flow-table';
import { openInputs } from '../inputs';
import { selectRigs } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';

export const flow: Command = {
  name: 'flow',
  words: 'FILE|FOLDER|- …',
  summary: 'what each stroke moves, strokes and time to a target, where it stalls, energy, lines and pumps needed',
  help: ['--json                  the same as JSON', '--rig NAME              only this rig', ...LET_HELP],
  options: { ...LET_OPTION, json: { type: 'boolean' }, rig: { type: 'string' } },
  run(io, words, values) {
    const inputs = openInputs(io, words, inputOptions(values));
    const rigs = selectRigs(inputs, stringOf(values, 'rig'));
    if (values['json']) io.out(JSON.stringify({ rigs: rigs.map((r) => flowJson(r.facts)) }, null, 2) + '\n');
    else io.out(rigs.map((r) => flowTable(r.facts).join('\n') + '\n').join('\n'));
    return blockingErrors(io, inputs);
  },
};
