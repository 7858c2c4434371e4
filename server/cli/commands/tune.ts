/** `caisson tune`: the best presets for what is required and preferred, verified, with what binds. */
import { fileURLToPath } from 'node:url';
import { applyEdits } from '../../core/document/apply-edits';
import { suggest } from '../../core/document/tune';
import type { TextEdit } from '../../core/model/problem';
import { tuneJson, tuneReport } from '../../core/report/tune-report';
import { seededRandom } from '../../core/timing/tolerance';
import { parseTime } from '../amounts';
import { openInputs, parseLets, shown, type Input } from '../inputs';
import { UsageError, type Io } from '../io';
import { selectRig } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, stringsOf, type Command, type Values } from './command';

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
    const seed = count(values, 'seed', 1, 0);
    const free = {
      free: stringsOf(values, 'free'),
      allPresets: values['all-presets'] === true,
      step: stringOf(values, 'step') === undefined ? 10_000 : parseTime('--step', stringOf(values, 'step')!),
      overrides: parseLets(stringsOf(values, 'let')),
    };
    const suggestion = suggest(input.document, index, free, {
      starts: count(values, 'starts', 12, 0),
      runs: count(values, 'runs', 4000, 1),
      trials: count(values, 'trials', 300, 0),
      states: count(values, 'states', 20_000, 0),
      random: () => seededRandom(seed),
    });
    if (!suggestion.ok) throw new UsageError(suggestion.message);
    const { answer, edits } = suggestion;
    if (values['json']) io.out(JSON.stringify(tuneJson(answer), null, 2) + '\n');
    else io.out(tuneReport(answer).join('\n') + '\n');
    const refused = values['apply'] ? apply(io, input, edits) : 0;
    return Math.max(answer.conflict ? 1 : 0, refused, blockingErrors(io, inputs));
  },
};

function apply(io: Io, { document }: Input, edits: readonly TextEdit[]): number {
  if (edits.length === 0) return 0;
  const read = (uri: string): string | undefined => (uri === document.uri ? document.text : document.readText(uri));
  const applied = applyEdits(edits, read, { users: [document.uri] });
  if (!applied.ok) {
    io.err(`caisson: ${applied.reason}\n`);
    return 1;
  }
  for (const [uri, text] of applied.texts) {
    const path = fileURLToPath(uri);
    io.rewrite(path, text);
    io.out(`${shown(io, path)}: suggested values written\n`);
  }
  return 0;
}

function count(values: Values, name: string, standard: number, least: number): number {
  const text = stringOf(values, name);
  const value = text === undefined ? standard : Number(text);
  if (!Number.isInteger(value) || value < least)
    throw new UsageError(`--${name} wants a whole number from ${least}, not ${text}.`);
  return value;
}
