/** `caisson faults`: every single fault of the built rig, what is seen of it, and the tests that tell faults apart. */
import { endOfFaults, faultReport } from '../../core/readings/faults';
import { faultsJson } from '../../core/report/readings-json';
import { caution } from '../../core/report/caution';
import { faultsText } from '../../core/report/readings-report';
import { UsageError } from '../io';
import { soundFacts } from '../readings';
import { LET_HELP, LET_OPTION, type Command } from './command';
import { taken } from '../taken';
import { noStroke } from '../../core/timing/no-stroke';

export const faults: Command = {
  name: 'faults',
  words: 'FILE',
  summary: 'every single fault of the built rig: effect, detection, and the tests that tell them apart',
  help: [
    '--json                  the same as JSON',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
    'Exit code 1 where following all faults would cost too much work.',
  ],
  options: { ...LET_OPTION, json: { type: 'boolean' }, rig: { type: 'string' } },
  run(io, words, values) {
    const [rigWord, ...rest] = words;
    if (rigWord === undefined || rest.length > 0) throw new UsageError('faults needs one rig file.');
    const facts = soundFacts(io, rigWord, values);
    const report = faultReport(facts);
    if (!report) {
      const none = 'Nothing starts a stroke of this rig and it has no scenario; there is nothing to follow.';
      throw new UsageError(noStroke(facts.rig.name, facts.timing, none));
    }
    if (values['json']) io.out(taken(faultsJson(report)));
    else io.out([...faultsText(report), '', caution()].join('\n') + '\n');
    const end = endOfFaults(facts.rig, report);
    if (end !== null) io.err(`caisson: ${end}\n`);
    return end === null ? 0 : 1;
  },
};
