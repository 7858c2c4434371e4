/** `caisson tune`: the best presets for what is required and preferred, verified, with what binds. */
import { suggest } from '../../core/document/tune';
import { tuneJson, tuneReport } from '../../core/report/tune-report';
import { seededRandom } from '../../core/timing/tolerance';
import type { LineOf } from '../../core/report/tune-conflicts';
import { lineIndex } from '../lines';
import { parseTime } from '../amounts';
import { openInputs, parseLets } from '../inputs';
import { UsageError } from '../io';
import { selectRig } from '../select';
import { writeEdits } from '../writing';
import { blockingErrors } from './blocking';
import { countOf, inputOptions, LET_HELP, LET_OPTION, stringOf, stringsOf, type Command } from './command';
import { taken } from '../taken';

export const tune: Command = {
  name: 'tune',
  words: 'FILE|-',
  summary: 'the best values of constants with a range, for what is required and preferred',
  help: [
    "--free NAME             this signal's presets may be chosen too, from a third to three times (several times)",
    '--all-presets           every preset may',
    '--step TIME             times come out as multiples of it (default 10 ms)',
    '--apply                 write the suggestion into the text',
    '--json                  the same as JSON',
    '--rig NAME              this rig, where the file holds several',
    '--starts N              starts besides the present values (default 12)',
    '--runs N                runs of the event engine (default 4000)',
    '--trials N              choices tried for what is about contents (default 300)',
    '--states N              budget of the proof of the suggestion; 0 leaves it out (default 20000)',
    '--seed N                seed of the drawn starts (default 1)',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    free: { type: 'string', multiple: true },
    'all-presets': { type: 'boolean' },
    step: { type: 'string' },
    apply: { type: 'boolean' },
    json: { type: 'boolean' },
    rig: { type: 'string' },
    starts: { type: 'string' },
    runs: { type: 'string' },
    trials: { type: 'string' },
    states: { type: 'string' },
    seed: { type: 'string' },
  },
  run(io, words, values) {
    if (words.length !== 1) throw new UsageError('Name one .rig file, or - for standard input.');
    const inputs = openInputs(io, words, inputOptions(values));
    const { input, facts } = selectRig(inputs, stringOf(values, 'rig'));
    const index = input.document.resolved().rigs.findIndex((r) => r.name === facts.rig.name);
    const seed = countOf(values, 'seed', 1, 0);
    const free = {
      free: stringsOf(values, 'free'),
      allPresets: values['all-presets'] === true,
      step: stringOf(values, 'step') === undefined ? 10_000 : parseTime('--step', stringOf(values, 'step')!),
      overrides: parseLets(stringsOf(values, 'let')),
    };
    const suggestion = suggest(input.document, index, free, {
      starts: countOf(values, 'starts', 12, 0),
      runs: countOf(values, 'runs', 4000, 1),
      trials: countOf(values, 'trials', 300, 0),
      states: countOf(values, 'states', 20_000, 0),
      random: () => seededRandom(seed),
    });
    if (!suggestion.ok) throw new UsageError(suggestion.message);
    const { answer, edits } = suggestion;
    const { document } = input;
    const placeOf = lineIndex(document.text);
    const lineOf: LineOf = (at) => (at.uri === document.uri ? placeOf(at.start).line : null);
    if (values['json']) io.out(taken(tuneJson(answer, lineOf)));
    else io.out(tuneReport(answer, lineOf).join('\n') + '\n');
    const refused = values['apply'] ? writeEdits(io, input.document, edits, 'suggested values') : 0;
    return Math.max(answer.tuned.best.missing > 0 ? 1 : 0, refused, blockingErrors(io, inputs));
  },
};
