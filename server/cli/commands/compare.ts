/** `caisson compare`: what was measured on the built rig against what is expected. */
import { compareLog, deviationText, edgeName, type Comparison } from '../../core/readings/compare';
import { compareJson } from '../../core/report/readings-json';
import { comparisonText } from '../../core/report/readings-report';
import { renderCases } from '../formats/junit';
import { outputFormat } from '../io';
import { loggedRig } from '../readings';
import { taken } from '../taken';
import { LET_HELP, LET_OPTION, stringOf, type Command } from './command';

const FORMATS = ['text', 'json', 'junit'] as const;

export const compare: Command = {
  name: 'compare',
  words: 'FILE LOG.csv',
  summary: 'edges and readings of the built rig against the expected ones',
  help: [
    '--scenario NAME         the scenario that was run (default: the trigger goes on and holds)',
    '--format FORMAT         text (default), json or junit',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
    'Exit code 1 where an edge or a column of readings deviates.',
  ],
  options: {
    ...LET_OPTION,
    scenario: { type: 'string' },
    format: { type: 'string' },
    json: { type: 'boolean' },
    rig: { type: 'string' },
  },
  choices: { format: FORMATS },
  run(io, words, values) {
    const format = outputFormat(FORMATS, undefined, values['json'] ? 'json' : stringOf(values, 'format'));
    const logged = loggedRig(io, 'compare', words, values);
    if (!logged) return 2;
    const result = compareLog(logged.facts, logged.log, logged.stimulus);
    if (format === 'json') io.out(taken(compareJson(result)));
    else if (format === 'junit') io.out(junit(result));
    else io.out([...comparisonText(result), ...logged.log.exclusions].join('\n') + '\n');
    return result.within ? 0 : 1;
  },
};

/** One case an edge, and one a column of readings. */
const junit = ({ edges, readings }: Comparison): string =>
  renderCases('compare', [
    ...edges.map((e, k) => ({ name: `${k + 1}. ${edgeName(e)}`, failure: e.within ? null : deviationText(e) })),
    ...readings.map((r) => ({
      name: r.heading,
      failure: r.within ? null : `${r.outside} of ${r.points.length} points outside`,
    })),
  ]);
