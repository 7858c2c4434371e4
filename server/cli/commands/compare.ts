/** `caisson compare`: measured door edges against the expected ones. */
import { compareLog, type Comparison } from '../../core/readings/compare';
import { comparisonText, deviationText } from '../../core/report/readings-report';
import { outputFormat } from '../io';
import { loggedRig } from '../readings';
import { LET_HELP, LET_OPTION, stringOf, type Command } from './command';

const FORMATS = ['text', 'json', 'junit'] as const;

export const compare: Command = {
  name: 'compare',
  words: 'FILE LOG.csv',
  summary: 'door edges measured on the built rig against the expected ones',
  help: [
    '--scenario NAME         the scenario that was run (default: the trigger goes on and holds)',
    '--format FORMAT         text (default), json or junit',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
    'Exit code 1 where an edge deviates.',
  ],
  options: {
    ...LET_OPTION,
    scenario: { type: 'string' },
    format: { type: 'string' },
    json: { type: 'boolean' },
    rig: { type: 'string' },
  },
  run(io, words, values) {
    const format = outputFormat(FORMATS, undefined, values['json'] ? 'json' : stringOf(values, 'format'));
    const logged = loggedRig(io, 'compare', words, values);
    if (!logged) return 2;
    const result = compareLog(logged.facts.rig, logged.log, logged.stimulus);
    if (format === 'json') io.out(JSON.stringify(result, null, 2) + '\n');
    else if (format === 'junit') io.out(junit(result));
    else io.out([...comparisonText(result), ...logged.log.exclusions].join('\n') + '\n');
    return result.first ? 1 : 0;
  },
};

const escaped = (text: string): string => text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/"/g, '&quot;');

function junit({ edges }: Comparison): string {
  const failures = edges.filter((e) => !e.within).length;
  const cases = edges.map((e, k) => {
    const name = escaped(`${k + 1}. ${e.door} ${e.open ? 'opens' : 'shuts'}`);
    const failure = e.within ? '' : `<failure message="${escaped(deviationText(e))}"/>`;
    return `    <testcase classname="compare" name="${name}">${failure}</testcase>\n`;
  });
  const count = `tests="${edges.length}" failures="${failures}"`;
  return `<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="caisson" ${count}>\n  <testsuite name="compare" ${count}>\n${cases.join('')}  </testsuite>\n</testsuites>\n`;
}
