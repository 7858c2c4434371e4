/** `caisson fit`: travel times, discharge and fraction per stroke from readings of the built rig, by least squares. */
import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parse } from '../../../grammar/src/api';
import { applyEdits } from '../../core/document/apply-edits';
import type { RigDocument } from '../../core/document/document';
import type { TextEdit } from '../../core/model/problem';
import { renderStoreSvg } from '../../core/diagram/store/picture';
import { fitModel, fitTable } from '../../core/report/fit-table';
import { fitRig, type FittedProperty } from '../../core/readings/fit';
import { fittedEdits, type ReadFile } from '../../core/readings/fitted-edits';
import { readLog } from '../../core/readings/log-csv';
import { openInputs, shown, type Input } from '../inputs';
import { UsageError, type Io } from '../io';
import { lineIndex } from '../lines';
import { selectRig } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';

/** Logs are longer than rigs: 256 MB. */
const MOST_LOG_BYTES = 256 * 1024 * 1024;

export const fit: Command = {
  name: 'fit',
  words: 'FILE LOG.csv',
  summary: 'fit travel times, discharge and fraction per stroke to readings of the built rig',
  help: [
    '--json                  the same as JSON',
    '--apply                 write the fitted values into the rig file',
    '--svg FILE              draw the readings against the fit',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
    'The log: its first line names the columns: time [s], DOOR (opening 0 … 1), CHAMBER mass [kg], CHAMBER pressure [bar], …',
  ],
  options: {
    ...LET_OPTION,
    json: { type: 'boolean' },
    apply: { type: 'boolean' },
    svg: { type: 'string' },
    rig: { type: 'string' },
  },
  run(io, words, values) {
    const [rigWord, logWord, ...rest] = words;
    if (rigWord === undefined || logWord === undefined || rest.length > 0)
      throw new UsageError('fit wants a rig file and one log.');
    const inputs = openInputs(io, [rigWord], inputOptions(values));
    const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
    const reading = readLog(facts.rig, io.read(resolve(io.cwd, logWord), MOST_LOG_BYTES));
    if (!reading.ok) {
      for (const p of reading.problems) io.err(`${logWord}:${p.line}:1: error log: ${p.message}\n`);
      return 2;
    }
    const report = fitRig(facts.rig, reading.log);
    const edits = fittedEdits(report, readFile(input.document));
    if (values['json']) io.out(JSON.stringify(report.properties.map(plain), null, 2) + '\n');
    else io.out([...fitTable(report), '', ...offers(io, input, edits)].join('\n') + '\n');
    const picture = stringOf(values, 'svg');
    if (picture !== undefined)
      io.write(
        picture,
        renderStoreSvg(fitModel(facts.rig.title || facts.rig.name, report), { look: 'light', width: 1000 }),
      );
    const refused = values['apply'] ? apply(io, input, edits) : 0;
    return Math.max(refused, blockingErrors(io, inputs));
  },
};

function plain({ of, name, property, fitted, stated, literal }: FittedProperty): object {
  return {
    of,
    name,
    property,
    literal,
    value: fitted.value,
    deviation: fitted.deviation,
    observations: fitted.observations,
    stated,
  };
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

const readText = (document: RigDocument, uri: string): string | undefined =>
  uri === document.uri ? document.text : document.readText(uri);

function readFile(document: RigDocument): ReadFile {
  return (uri) => {
    if (uri === document.uri) return { text: document.text, tree: document.parsed().tree };
    const text = document.readText(uri);
    return text === undefined ? null : { text, tree: parse(text).tree };
  };
}

/** Writes the fitted values, or says why not; gives the exit code so far. */
function apply(io: Io, { document }: Input, edits: readonly TextEdit[]): number {
  const applied = applyEdits(edits, (uri) => readText(document, uri), { users: [document.uri] });
  if (!applied.ok) {
    io.err(`caisson: ${applied.reason}\n`);
    return 1;
  }
  for (const [uri, text] of applied.texts) {
    const path = fileURLToPath(uri);
    io.write(path, text);
    io.out(`${shown(io, path)}: fitted values written\n`);
  }
  return 0;
}
