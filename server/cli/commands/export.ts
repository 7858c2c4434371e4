/** `caisson export`: the control network for other programs: C99, structured text, DOT. Never of a rig with errors. */
import { join } from 'node:path';
import { wiringModel } from '../../core/diagram/wiring/model';
import type { Rig } from '../../core/model/rig';
import { exportC } from '../../core/report/exports/c';
import { exportDot } from '../../core/report/exports/dot';
import { exportStructuredText } from '../../core/report/exports/structured-text';
import { findings } from '../findings';
import { openInputs, type Input } from '../inputs';
import { UsageError, type Io } from '../io';
import { selectRig } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';

const TARGETS = ['c', 'st', 'dot'] as const;

export const exportCommand: Command = {
  name: 'export',
  words: 'FILE|-',
  summary: 'the control network as C99, IEC 61131-3 structured text or a DOT graph',
  help: [
    '--to TARGET             c (header, source and a small main), st (structured text) or dot (Graphviz)',
    '--out PATH              for c: the folder to write the three files to; else a file (default: standard output)',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    to: { type: 'string' },
    rig: { type: 'string' },
    out: { type: 'string', short: 'o' },
  },
  run(io, words, values) {
    const to = stringOf(values, 'to');
    if (to === undefined || !(TARGETS as readonly string[]).includes(to))
      throw new UsageError(`--to is one of ${TARGETS.join(', ')}${to === undefined ? '' : `, not ${to}`}.`);
    const out = stringOf(values, 'out') ?? '-';
    if (to === 'c' && out === '-') throw new UsageError('C is three files: name a folder for them with --out.');
    const inputs = openInputs(io, words, inputOptions(values));
    const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
    const refused = refusal(io, input, facts.rig);
    if (refused !== null) {
      io.err(`${refused}\n`);
      return 1;
    }
    for (const [name, text] of filesOf(facts.rig, to)) {
      if (out === '-') io.out(text);
      else io.write(name === '' ? out : join(out, name), text);
    }
    return 0;
  },
};

/** Errors that leave the control what it is: they concern what the doors do, not what was read. */
const ABOUT_RESULTS = /^(require|door|flow|cycle|timer|sensor|loss)\//;

/** Why there can be no export, in one sentence; null where there can. */
function refusal(io: Io, input: Input, rig: Rig): string | null {
  const error = findings(io, [input]).find((f) => f.severity === 'error' && !ABOUT_RESULTS.test(f.code));
  if (error)
    return `Nothing is exported while the text has errors: ${error.path}:${error.start.line}:${error.start.column}: ${error.code}: ${error.message}`;
  if (rig.incomplete && rig.incomplete.length > 0)
    return 'Nothing is exported: parts of the control could not be read.';
  if (rig.drives.length === 0)
    return `Nothing is exported: ${rig.name} has no control (no drive and no sequence that drives).`;
  return null;
}

function filesOf(rig: Rig, to: string): (readonly [string, string])[] {
  if (to === 'st') return [['', exportStructuredText(rig)]];
  if (to === 'dot') return [['', exportDot(rig, wiringModel(rig))]];
  const files = exportC(rig);
  return [
    [`${files.name}.h`, files.header],
    [`${files.name}.c`, files.source],
    [`${files.name}_main.c`, files.main],
  ];
}
