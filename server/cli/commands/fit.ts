/** `caisson fit`: travel times, discharge and fraction per stroke from readings of the built rig, by least squares. */
import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Source } from '../../core/model/problem';
import { renderStoreSvg } from '../../core/diagram/store/picture';
import { fitModel, fitTable } from '../../core/report/fit-table';
import { fitRig, type FitReport, type FittedProperty } from '../../core/readings/fit';
import { readLog } from '../../core/readings/log-csv';
import { openInputs, shown } from '../inputs';
import { UsageError, type Io } from '../io';
import { lineIndex } from '../lines';
import { selectRig } from '../select';
import { blockingErrors } from './blocking';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';

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
    const { facts } = selectRig(inputs, stringOf(values, 'rig'));
    const reading = readLog(facts.rig, readLogFile(io, logWord));
    if (!reading.ok) {
      for (const p of reading.problems) io.err(`${logWord}:${p.line}:1: error log: ${p.message}\n`);
      return 2;
    }
    const report = fitRig(facts.rig, reading.log);
    if (values['json']) io.out(JSON.stringify(report.properties.map(plain), null, 2) + '\n');
    else io.out([...fitTable(report), '', ...offers(io, report)].join('\n') + '\n');
    const picture = stringOf(values, 'svg');
    if (picture !== undefined)
      io.write(
        picture,
        renderStoreSvg(fitModel(facts.rig.title || facts.rig.name, report), { look: 'light', width: 1000 }),
      );
    if (values['apply']) apply(io, report);
    return blockingErrors(io, inputs);
  },
};

function readLogFile(io: Io, word: string): string {
  try {
    return io.read(resolve(io.cwd, word));
  } catch (error) {
    throw new UsageError(`${word} cannot be read: ${(error as Error).message}`);
  }
}

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
function offers(io: Io, report: FitReport): string[] {
  return report.properties.map((p) => {
    const at: Source = p.at ?? p.whole;
    const path = fileURLToPath(at.uri);
    const { line, column } = lineIndex(io.read(path))(at.start);
    return `${shown(io, path)}:${line}:${column}: ${p.name}: ${p.at ? 'change it to' : 'add'} ${p.property} ${p.literal}`;
  });
}

/** Replaces stated literals, and adds properties before the closing brace of their statements, last place first. */
function apply(io: Io, report: FitReport): void {
  const edits = report.properties.map((p) => ({
    at: p.at ?? p.whole,
    added: p.at === null,
    text: p.at ? p.literal : `${p.property} ${p.literal}`,
  }));
  for (const uri of new Set(edits.map((e) => e.at.uri))) {
    const path = fileURLToPath(uri);
    let text = io.read(path);
    for (const { at, added, text: value } of edits
      .filter((e) => e.at.uri === uri)
      .sort((a, b) => b.at.start - a.at.start)) {
      text = added ? addProperty(text, at, value) : text.slice(0, at.start) + value + text.slice(at.end);
    }
    io.write(path, text);
    io.out(`${shown(io, path)}: fitted values written\n`);
  }
}

function addProperty(text: string, whole: Source, property: string): string {
  const brace = text.lastIndexOf('}', whole.end - 1);
  if (brace < whole.start) return `${text.slice(0, whole.end)} { ${property} }${text.slice(whole.end)}`;
  return `${text.slice(0, brace).trimEnd()}  ${property} ${text.slice(brace)}`;
}
