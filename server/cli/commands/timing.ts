/** `caisson timing`: cumulative times, overlaps, gaps and margins of every rig. */
import { timingJson } from '../../core/report/timing-json';
import { timingTable } from '../../core/report/timing-table';
import { openInputs } from '../inputs';
import { someRigs } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { blockingErrors } from './blocking';
import { taken } from '../taken';

export const timing: Command = {
  name: 'timing',
  words: 'FILE|FOLDER|- …',
  summary: 'cumulative times of every door from the trigger, overlaps, gaps, margins',
  help: [
    '--json                  the same as JSON (shape: REFERENCE.md)',
    '--rig NAME              only this rig',
    ...LET_HELP,
  ],
  options: { ...LET_OPTION, json: { type: 'boolean' }, rig: { type: 'string' } },
  run(io, words, values) {
    const inputs = openInputs(io, words, inputOptions(values));
    const rigs = someRigs(inputs, stringOf(values, 'rig'));
    if (values['json']) io.out(taken({ rigs: rigs.map((r) => timingJson(r.facts)) }));
    else io.out(rigs.map((r) => timingTable(r.facts).join('\n') + '\n').join('\n'));
    return blockingErrors(io, inputs);
  },
};
