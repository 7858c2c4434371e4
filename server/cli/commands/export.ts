/** `caisson export`: the control network for other programs: C99, structured text, DOT. Never of a rig with errors. */
import { join } from 'node:path';
import { wiringModel } from '../../core/diagram/wiring/model';
import type { Rig } from '../../core/model/rig';
import { exportC } from '../../core/report/exports/c';
import { exportDot } from '../../core/report/exports/dot';
import { exportStructuredText } from '../../core/report/exports/structured-text';
import { openInputs } from '../inputs';
import { UsageError, wantEnding } from '../io';
import { selectRig } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command } from './command';
import { refusal } from './refusal';

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
    if (to !== 'c') wantEnding(to === 'dot' ? ['dot', 'gv'] : ['st', 'txt'], out);
    const inputs = openInputs(io, words, inputOptions(values));
    const { facts, input } = selectRig(inputs, stringOf(values, 'rig'));
    const refused = refusal(io, input, facts.rig);
    if (refused !== null) {
      io.err(`Nothing is exported: ${refused}\n`);
      return 1;
    }
    for (const [name, text] of filesOf(facts.rig, to)) {
      if (out === '-') io.out(text);
      else io.write(name === '' ? out : join(out, name), text);
    }
    return 0;
  },
};

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
