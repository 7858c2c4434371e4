/** `caisson export`: the control network for other programs: C99, structured text, Verilog, DOT. Never of a rig with errors. */
import { join } from 'node:path';
import { wiringModel } from '../../core/diagram/wiring/model';
import { exportC } from '../../core/report/exports/c';
import { exportDot } from '../../core/report/exports/dot';
import { exportStructuredText } from '../../core/report/exports/structured-text';
import { benchCourse } from '../../core/report/exports/bench-course';
import { exportVerilog } from '../../core/report/exports/verilog';
import { findingsIn } from '../../core/document/allowed-in';
import { openFindingsWords } from '../../core/report/open-findings';
import { openInputs } from '../inputs';
import { UsageError, wantEnding } from '../io';
import { selectRig, type RigInput } from '../select';
import { inputOptions, LET_HELP, LET_OPTION, stringOf, type Command, type Values } from './command';
import { refusal } from './refusal';
import { chosenCourse } from './trace';

const TARGETS = ['c', 'st', 'verilog', 'dot'] as const;

/** Endings of a file's name, by target. */
const ENDINGS: Readonly<Record<string, readonly string[]>> = {
  st: ['st', 'txt'],
  verilog: ['v', 'sv'],
  dot: ['dot', 'gv'],
};

export const exportCommand: Command = {
  name: 'export',
  words: 'FILE|-',
  summary: 'the control network as C99, IEC 61131-3 structured text, Verilog or a DOT graph',
  help: [
    '--to TARGET             c (header, source and a small main), st (structured text), verilog (module and test bench) or dot (Graphviz)',
    '--scenario NAME         for verilog: what the test bench does (default: the trigger goes on once and holds)',
    '--until TIME            for verilog: how long, such as "30 s" (default: the scenario, or two strokes)',
    '--out PATH              for c: the folder to write the three files to; else a file (default: standard output)',
    '--rig NAME              which rig, where the file has several',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    to: { type: 'string' },
    scenario: { type: 'string' },
    until: { type: 'string' },
    rig: { type: 'string' },
    out: { type: 'string', short: 'o' },
  },
  choices: { to: TARGETS },
  run(io, words, values) {
    const to = stringOf(values, 'to');
    if (to === undefined || !(TARGETS as readonly string[]).includes(to))
      throw new UsageError(`--to is one of ${TARGETS.join(', ')}${to === undefined ? '' : `, not ${to}`}.`);
    const out = stringOf(values, 'out') ?? '-';
    if (to === 'c' && out === '-') throw new UsageError('C is three files: name a folder for them with --out.');
    for (const option of ['scenario', 'until'])
      if (to !== 'verilog' && values[option] !== undefined)
        throw new UsageError(`--${option} is for --to verilog only.`);
    if (to !== 'c') wantEnding(ENDINGS[to] ?? [], out);
    const inputs = openInputs(io, words, inputOptions(values));
    const chosen = selectRig(inputs, stringOf(values, 'rig'));
    const refused = refusal(io, chosen.input, chosen.facts.rig);
    if (refused !== null) {
      io.err(`Nothing is exported: ${refused}\n`);
      return 1;
    }
    const found = openFindingsWords(findingsIn(chosen.input.document, chosen.facts.rig));
    if (to === 'c') io.makeFolder(out);
    for (const [name, text] of filesOf(chosen, to, values, found === null ? [] : [found])) {
      if (out === '-') io.out(text);
      else io.write(name === '' ? out : join(out, name), text);
    }
    if (found !== null) io.err(`caisson: ${found}\n`);
    return 0;
  },
};

/** Texts by the end of their path; one text has no name of its own. */
function filesOf(
  chosen: RigInput,
  to: string,
  values: Values,
  notes: readonly string[],
): (readonly [string, string])[] {
  const { rig } = chosen.facts;
  if (to === 'st') return [['', exportStructuredText(rig, notes)]];
  if (to === 'dot') return [['', exportDot(rig, wiringModel(rig), notes)]];
  if (to === 'verilog') return [['', verilogOf(chosen, values, notes)]];
  const files = exportC(rig, notes);
  return [
    [`${files.name}.h`, files.header],
    [`${files.name}.c`, files.source],
    [`${files.name}_main.c`, files.main],
  ];
}

function verilogOf(chosen: RigInput, values: Values, notes: readonly string[]): string {
  const { rig } = chosen.facts;
  const { scenario, trace, until } = chosenCourse(chosen, stringOf(values, 'scenario'), stringOf(values, 'until'));
  if (scenario?.steps.some((step) => step.action === 'power'))
    throw new UsageError(
      `The scenario ${scenario.name} turns the power off, which a test bench in Verilog cannot do; choose another one.`,
    );
  const words = scenario ? `the scenario ${scenario.name}` : 'the trigger, which turns once and holds';
  return exportVerilog(rig, benchCourse(rig, trace, until, words), notes);
}
