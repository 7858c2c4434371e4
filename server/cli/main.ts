/** The command line `caisson`: picks the command, prints help, turns mistakes of use into one sentence and exit code 2. */
import { parseArgs } from 'node:util';
import { ask } from './commands/ask';
import { check } from './commands/check';
import type { Command } from './commands/command';
import { completionCommand } from './commands/completion';
import { compare } from './commands/compare';
import { diagnose } from './commands/diagnose';
import { faults } from './commands/faults';
import { diff } from './commands/diff';
import { diagram } from './commands/diagram';
import { exportCommand } from './commands/export';
import { explain } from './commands/explain';
import { explore } from './commands/explore';
import { fit } from './commands/fit';
import { flow } from './commands/flow';
import { format } from './commands/format';
import { newCommand } from './commands/new';
import { prove } from './commands/prove';
import { report } from './commands/report';
import { serve } from './commands/serve';
import { sheet } from './commands/sheet';
import { size } from './commands/size';
import { timing } from './commands/timing';
import { tolerance } from './commands/tolerance';
import { wire } from './commands/wire';
import { tune } from './commands/tune';
import { trace } from './commands/trace';
import { outputFormat, shortened, UsageError, type Io } from './io';
import { fitted } from './fitted';
import { VERSION } from './version';

export const COMMANDS: readonly Command[] = [
  newCommand,
  check,
  ask,
  timing,
  trace,
  diagram,
  flow,
  tolerance,
  tune,
  explore,
  wire,
  size,
  prove,
  fit,
  compare,
  diagnose,
  faults,
  format,
  sheet,
  report,
  diff,
  exportCommand,
  explain,
  completionCommand(() => COMMANDS),
  serve,
];

/** Options that name a picture to write. */
const SVG_OPTIONS = ['svg', 'diagram'] as const;

/** Runs one command line (words after the program's name); gives the exit code. */
export async function main(words: readonly string[], io: Io): Promise<number> {
  try {
    return await dispatch(words, io);
  } catch (error) {
    if (error instanceof UsageError) return complain(io, error.message);
    if (isArgumentError(error)) return complain(io, optionTrouble(words[0] ?? '', error));
    throw error;
  }
}

async function dispatch(words: readonly string[], io: Io): Promise<number> {
  const [name, ...rest] = words;
  if (name === '--version' || name === '-V') return say(io, `caisson ${VERSION}\n`);
  if (name === undefined || name === '--help' || name === '-h' || name === 'help') return help(io, rest[0]);
  const command = COMMANDS.find((c) => c.name === name);
  if (!command) return complain(io, `There is no command ${shortened(name)}; caisson --help lists them.`);
  if (rest.includes('--help') || rest.includes('-h')) return help(io, name);
  const { values, positionals } = parseArgs({
    args: [...rest],
    options: command.options,
    allowPositionals: true,
    strict: true,
  });
  const empty = Object.entries(values).find(([, value]) => [value].flat().includes(''));
  if (empty) throw new UsageError(`--${empty[0]} wants a value.`);
  for (const picture of SVG_OPTIONS) {
    const out = values[picture];
    if (typeof out === 'string') outputFormat(['svg'], out, undefined);
  }
  const code = await command.run(onTerminal(io, command.name), positionals, values);
  return io.faulty() ? 2 : code;
}

/** Commands whose output is for other programs, and stays as it is on a terminal, too. */
const FOR_PROGRAMS: ReadonlySet<string> = new Set([
  'completion',
  'diagram',
  'export',
  'format',
  'new',
  'report',
  'serve',
  'sheet',
  'trace',
]);

/** The world of a command whose tables are made to fit the terminal, where there is one. */
function onTerminal(io: Io, command: string): Io {
  const { columns } = io;
  if (columns === null || FOR_PROGRAMS.has(command)) return io;
  return { ...io, out: (text) => io.out(typeof text === 'string' ? fitted(text, columns) : text) };
}

function isArgumentError(error: unknown): error is TypeError & { readonly code: string } {
  return error instanceof TypeError && String((error as { code?: unknown }).code).startsWith('ERR_PARSE_ARGS');
}

/** What is wrong with an option, in one sentence; Node's own take several lines. */
function optionTrouble(command: string, { code, message }: TypeError & { readonly code: string }): string {
  const option = /(--?[^\s',]+)(?: <value>)?'/.exec(message)?.[1] ?? '';
  if (code === 'ERR_PARSE_ARGS_UNKNOWN_OPTION')
    return `${command} has no option ${shortened(option)}; caisson ${command} --help lists its options.`;
  if (message.includes('does not take an argument')) return `${shortened(option)} takes no value.`;
  if (message.includes('ambiguous'))
    return `${shortened(option)} wants a value; one that begins with - is given as ${shortened(option)}=-….`;
  return option === '' ? message.split('\n')[0]! : `${shortened(option)} wants a value.`;
}

function say(io: Io, text: string): number {
  io.out(text);
  return 0;
}

function complain(io: Io, message: string): number {
  io.err(`caisson: ${message.replace(/\S{300,}/g, shortened)}\n`);
  return 2;
}

function help(io: Io, name: string | undefined): number {
  const command = COMMANDS.find((c) => c.name === name);
  if (name !== undefined && !command)
    return complain(io, `There is no command ${shortened(name)}; caisson --help lists them.`);
  if (command) {
    const lines = [
      `caisson ${command.name} ${command.words}`,
      `  ${command.summary}`,
      ...command.help.map((line) => `  ${line}`),
    ];
    return say(io, lines.join('\n') + '\n');
  }
  const width = Math.max(...COMMANDS.map((c) => c.name.length));
  const lines = [
    'caisson: timing, checks and diagrams of staged pressurising rigs',
    '',
    ...COMMANDS.map((c) => `  caisson ${c.name.padEnd(width)}  ${c.summary}`),
    '',
    '  caisson COMMAND --help explains the options of a command; caisson --version.',
  ];
  return say(io, lines.join('\n') + '\n');
}
