/** `caisson fit`: travel times, discharge and fraction per stroke from readings of the built rig, by robust least squares. */
import { caution } from '../../core/report/caution';
import { noted } from '../../core/diagram/kit/noted';
import { fileURLToPath } from 'node:url';
import { parse } from '../../../grammar/src/api';
import type { RigDocument } from '../../core/document/document';
import type { TextEdit } from '../../core/model/problem';
import { renderStoreSvg } from '../../core/diagram/store/picture';
import { fitJson } from '../../core/report/readings-json';
import { fitModel, fitTable } from '../../core/report/fit-table';
import { FIT_KINDS, fitRig, type FitKind } from '../../core/readings/fit';
import { fittedEdits, type ReadFile } from '../../core/readings/fitted-edits';
import { openInputs, shown, type Input } from '../inputs';
import { UsageError, type Io } from '../io';
import { lineIndex } from '../lines';
import { logFor } from '../readings';
import { selectRig } from '../select';
import { readText, writeEdits } from '../writing';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, stringsOf, type Command } from './command';
import { besideRows } from '../taken';

export const fit: Command = {
  name: 'fit',
  words: 'FILE LOG.csv',
  summary: 'fit travel times, discharge and fraction per stroke to readings of the built rig',
  help: [
    `--only KIND             fit this alone: ${FIT_KINDS.join(', ')} (may stand several times)`,
    '--json                  the same as JSON',
    '--apply                 write the fitted values into the rig file',
    '--tolerances            with --apply: write half of each 95 % interval behind its value as +-',
    '--trust-units           fit although a unit looks wrong',
    '--svg FILE              draw the readings against the fit',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
    'The log: its first line names the columns: time [s], DOOR (opening 0 … 1), CHAMBER mass [kg], CHAMBER pressure [bar], …',
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    only: { type: 'string', multiple: true },
    apply: { type: 'boolean' },
    tolerances: { type: 'boolean' },
    'trust-units': { type: 'boolean' },
    svg: { type: 'string' },
    rig: { type: 'string' },
  },
  run(io, words, values) {
    const [rigWord, logWord, ...rest] = words;
    if (rigWord === undefined || logWord === undefined || rest.length > 0)
      throw new UsageError('fit wants a rig file and one log.');
    const inputs = openInputs(io, [rigWord], inputOptions(values));
    const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
    const only = kindsOf(stringsOf(values, 'only'));
    const log = logFor(io, facts.rig, logWord, values);
    if (!log) return 2;
    const report = fitRig(facts, log, only);
    const edits = fittedEdits(report, readFile(input.document), values['tolerances'] === true);
    if (values['json']) {
      io.out(`${JSON.stringify(fitJson(report), null, 2)}\n`);
      besideRows(io);
    } else io.out([...fitTable(report), '', ...offers(io, input, edits)].join('\n') + '\n');
    const picture = stringOf(values, 'svg');
    if (picture !== undefined)
      io.write(
        picture,
        noted(
          renderStoreSvg(fitModel(facts.rig.title || facts.rig.name, report), { look: 'light', width: 1000 }),
          caution(),
        ),
      );
    const refused = values['apply'] ? writeEdits(io, input.document, edits, 'fitted values') : 0;
    return Math.max(refused, blockingErrors(io, inputs));
  },
};

function kindsOf(words: readonly string[]): FitKind[] {
  return words
    .flatMap((w) => w.split(','))
    .map((word) => {
      const kind = FIT_KINDS.find((k) => k === word.trim());
      if (!kind) throw new UsageError(`--only ${word}: choose of ${FIT_KINDS.join(', ')}.`);
      return kind;
    });
}

/** Where each fitted value would go. */
function offers(io: Io, { document }: Input, edits: readonly TextEdit[]): string[] {
  return edits.map(({ at, text }) => {
    const path = fileURLToPath(at.uri);
    const source = readText(document, at.uri) ?? '';
    const { line, column } = lineIndex(source)(at.start);
    const old = source.slice(at.start, at.end).trim();
    return `${shown(io, path)}:${line}:${column}: ${old === '' ? 'add' : `change ${old} to`} ${text.replace(/\s+/g, ' ').trim()}`;
  });
}

function readFile(document: RigDocument): ReadFile {
  return (uri) => {
    if (uri === document.uri) return { text: document.text, tree: document.parsed().tree };
    const text = document.readText(uri);
    return text === undefined ? null : { text, tree: parse(text).tree };
  };
}
