/** `caisson check`: findings of files and folders in the formats of terminals and build servers. */
import { resolve } from 'node:path';
import { ALL_CODES } from '../../core/document/codes';
import { withoutAllowed } from '../../core/document/allowances';
import { repairAll } from '../../core/document/repairs';
import type { Problem } from '../../core/model/problem';
import { allowedFindings, findings, type Finding } from '../findings';
import { renderGithub } from '../formats/github';
import { renderJunit } from '../formats/junit';
import { renderSarif } from '../formats/sarif';
import { renderText } from '../formats/text';
import { openInputs, type Input } from '../inputs';
import { UsageError, type Io } from '../io';
import { BUDGET_HELP, BUDGET_OPTIONS, budgetOf, proofFindings } from '../proving';
import { readProofRecord, recordFindings } from '../proof-record';
import { taken } from '../taken';
import { renderValues, valueJson, valueRows, type ValueRow } from '../values';
import { formatCount } from '../../core/units/units';
import { VERSION } from '../version';
import { WATCH_HELP, WATCH_OPTION, watching } from '../watching';
import { countOf, inputOptions, LET_HELP, LET_OPTION, stringOf, type Command, type Values } from './command';

const FORMATS = ['text', 'json', 'github', 'sarif', 'junit'] as const;

export const check: Command = {
  name: 'check',
  words: 'FILE|FOLDER|- …',
  summary: 'mark mistakes; exit code 0 clean, 1 findings, 2 usage or file trouble',
  help: [
    '--format FORMAT         text (default), json, github, sarif or junit',
    '--values                also list every requirement with its value and what it has to spare',
    '--show-fixes            also show the lines that each quick fix changes, or why there is none',
    '--fix                   first take every quick fix that changes no behaviour, and write the files',
    '--fix-all               first take every preferred quick fix, and write the files',
    '--prove                 also prove what must always or never be (see caisson prove)',
    '--proofs FILE           compare with a record of caisson prove --json: what is not proved at exactly this text is a finding',
    ...BUDGET_HELP,
    '--strict                what is not decided or not computed to its end is an error',
    '--max-warnings N        exit with 1 only for errors or more than N warnings (default 0)',
    ...LET_HELP,
    ...WATCH_HELP,
    '--stdin-filename NAME   name for the text on standard input',
  ],
  options: {
    ...LET_OPTION,
    ...BUDGET_OPTIONS,
    format: { type: 'string' },
    'max-warnings': { type: 'string' },
    fix: { type: 'boolean' },
    'fix-all': { type: 'boolean' },
    proofs: { type: 'string' },
    prove: { type: 'boolean' },
    'show-fixes': { type: 'boolean' },
    strict: { type: 'boolean' },
    values: { type: 'boolean' },
    ...WATCH_OPTION,
  },
  choices: { format: FORMATS },
  run(io, words, values) {
    if (values['watch'] && (words.includes('-') || values['fix'] || values['fix-all']))
      throw new UsageError('--watch reads files again when they change: it goes with neither - nor --fix.');
    const once = (): number => checked(io, words, values);
    return values['watch'] ? watching(io, once) : once();
  },
};

function checked(io: Io, words: readonly string[], values: Values): number {
  const format = stringOf(values, 'format') ?? 'text';
  if (!(FORMATS as readonly string[]).includes(format))
    throw new UsageError(`--format is one of ${FORMATS.join(', ')}, not ${format}.`);
  const most = countOf(values, 'max-warnings', 0, 0);
  const budget = budgetOf(values);
  const proofs = stringOf(values, 'proofs');
  const record = proofs === undefined ? null : readProofRecord(io, proofs);
  const opened = openInputs(io, words, inputOptions(values));
  const inputs = values['fix'] || values['fix-all'] ? repaired(io, words, opened, values) : opened;
  for (const { path, document } of inputs)
    if (document.text.trim() === '') io.fault(`${path} is empty; caisson new lists rigs to start from.`);
  const proving = (input: Input): Problem[] => [
    ...(values['prove'] ? proofFindings(io, input, budget) : []),
    ...(record ? recordFindings(input, record, words) : []),
  ];
  const proved = new Map(inputs.map((input) => [input, withoutAllowed(commented(input), proving(input))]));
  const found = findings(io, inputs, (input) => proved.get(input)!.problems, values['show-fixes'] === true);
  const allowed = allowedFindings(io, inputs, (input) => proved.get(input)!.allowed);
  const rows = values['strict'] ? found.map(strictly) : found;
  const listed = valueRows(inputs);
  if (values['values'] && format === 'text') io.out(renderValues(listed));
  io.out(render(io, format as (typeof FORMATS)[number], rows, { listed, allowed }, inputs));
  const errors = rows.filter((f) => f.severity === 'error').length;
  const warnings = rows.filter((f) => f.severity === 'warning').length;
  return errors > 0 || warnings > most ? 1 : 0;
}

/** An input as comments are read in it. */
const commented = ({ document }: Input) => ({
  uri: document.uri,
  text: document.text,
  tokens: document.parsed().tokens,
});

/** The inputs with their quick fixes taken and written; each file that changes is named on standard error. */
function repaired(io: Io, words: readonly string[], inputs: readonly Input[], values: Values): Input[] {
  if (words.includes('-')) throw new UsageError('--fix changes files: name one instead of -.');
  return inputs.map((input) => {
    const { text, taken, refused } = repairAll(input.document, input.reopen, values['fix-all'] === true);
    if (refused !== null) io.fault(`${input.path} is left as it is: ${refused}.`);
    const same = text === input.document.text;
    const now = same ? input : { ...input, document: input.reopen(text) };
    if (!same) io.rewrite(resolve(io.cwd, input.path), text);
    const left = refused === null ? leftToChoose(now, values['fix-all'] === true) : [];
    io.err([...taken, ...left].map((line) => `${input.path}: ${line}\n`).join(''));
    return now;
  });
}

/** What the quick fixes of an input still offer after those that could be taken without a person looking at them. */
function leftToChoose({ document }: Input, every: boolean): string[] {
  const fixable = document.problems().filter(({ fixes = [] }) => fixes.length > 0);
  const preferred = every ? [] : fixable.filter(({ fixes = [] }) => fixes.some((f) => f.preferred && !f.costs));
  const chosen = fixable.length - preferred.length;
  return [
    ...(preferred.length === 0
      ? []
      : [
          `${formatCount(preferred.length, 'quick fix', 'es')} left that would change what the rig does; --fix-all takes them`,
        ]),
    ...(chosen === 0
      ? []
      : [`${formatCount(chosen, 'finding')} left with quick fixes to choose from; --show-fixes lists them`]),
  ];
}

/** What says that an answer is missing; under `--strict` a missing answer is an error. */
const NOT_ANSWERED: ReadonlySet<string> = new Set(['require/undecided', 'cycle/not-worked-out']);

const strictly = (finding: Finding): Finding =>
  NOT_ANSWERED.has(finding.code) ? { ...finding, severity: 'error' } : finding;

function render(
  io: Io,
  format: (typeof FORMATS)[number],
  rows: readonly Finding[],
  { listed, allowed }: { readonly listed: readonly ValueRow[]; readonly allowed: readonly Finding[] },
  inputs: readonly Input[],
): string {
  switch (format) {
    case 'text':
      return renderText(rows, inputs.length, { colour: io.colour, allowed: allowed.length });
    case 'json':
      return taken({ files: inputs.map((i) => i.path), findings: rows, allowed, requirements: listed.map(valueJson) });
    case 'github':
      return renderGithub(rows);
    case 'sarif':
      return renderSarif([...rows, ...allowed], VERSION, ALL_CODES, listed);
    case 'junit':
      return renderJunit(
        rows,
        inputs.map((i) => i.path),
        listed,
      );
  }
}
