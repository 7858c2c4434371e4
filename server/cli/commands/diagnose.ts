/** `caisson diagnose`: the single fault or changed time that explains a log best. */
import { diagnose as explain } from '../../core/readings/diagnose';
import { diagnosisJson } from '../../core/report/readings-json';
import { caution } from '../../core/report/caution';
import { diagnosisText } from '../../core/report/readings-report';
import { loggedRig } from '../readings';
import { LET_HELP, LET_OPTION, type Command } from './command';
import { taken } from '../taken';

export const diagnose: Command = {
  name: 'diagnose',
  words: 'FILE LOG.csv',
  summary: 'the single fault or changed time that explains readings of the built rig best',
  help: [
    '--scenario NAME         the scenario that was run (default: the trigger goes on and holds)',
    '--json                  the same as JSON',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
  ],
  options: { ...LET_OPTION, scenario: { type: 'string' }, json: { type: 'boolean' }, rig: { type: 'string' } },
  run(io, words, values) {
    const logged = loggedRig(io, 'diagnose', words, values);
    if (!logged) return 2;
    const result = explain(logged.facts.rig, logged.log, logged.stimulus);
    if (values['json']) io.out(taken(diagnosisJson(result)));
    else io.out([...diagnosisText(result), ...logged.log.exclusions, '', caution()].join('\n') + '\n');
    return 0;
  },
};
