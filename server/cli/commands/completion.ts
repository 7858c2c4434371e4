/** `caisson completion SHELL`: what a shell offers behind `caisson`, made from the table of commands. */
import { UsageError, shortened } from '../io';
import type { Command } from './command';

const SHELLS = ['bash', 'zsh', 'fish'] as const;
type Shell = (typeof SHELLS)[number];

/** The command; `commands` gives the table that it stands in. */
export function completionCommand(commands: () => readonly Command[]): Command {
  return {
    name: 'completion',
    words: SHELLS.join('|'),
    summary: 'what a shell completes: commands, options, their values, rigs',
    help: [
      'bash: eval "$(caisson completion bash)" in ~/.bashrc',
      'zsh:  caisson completion zsh > a folder of $fpath, in a file named _caisson',
      'fish: caisson completion fish > ~/.config/fish/completions/caisson.fish',
    ],
    options: {},
    choices: { '': SHELLS },
    run(io, words) {
      const shell = SHELLS.find((s) => s === words[0]);
      if (shell === undefined || words.length > 1)
        throw new UsageError(
          `completion wants one of ${SHELLS.join(', ')}${words[0] ? `, not ${shortened(words.join(' '))}` : ''}.`,
        );
      io.out(completionScript(shell, commands()));
      return 0;
    },
  };
}

interface Offered {
  readonly name: string;
  readonly takesValue: boolean;
  readonly choices: readonly string[];
  readonly about: string;
}

function optionsOf({ options, choices = {}, help }: Command): Offered[] {
  const about = (name: string): string =>
    help
      .map((line) => new RegExp(`^--${name}(?: [A-Z][^ ]*)?(?: |$)\\s*(.*)$`).exec(line)?.[1])
      .find((text) => text !== undefined) ?? '';
  const own = Object.entries(options).map(([name, { type }]) => ({
    name,
    takesValue: type === 'string',
    choices: choices[name] ?? [],
    about: about(name),
  }));
  return [...own, { name: 'help', takesValue: false, choices: [], about: 'explains the options' }];
}

/** The script of one shell. */
export function completionScript(shell: Shell, commands: readonly Command[]): string {
  const lines = shell === 'bash' ? bash(commands) : shell === 'zsh' ? zsh(commands) : fish(commands);
  return `${lines.join('\n')}\n`;
}

function bash(commands: readonly Command[]): string[] {
  const values = commands.flatMap((c) =>
    optionsOf(c)
      .filter((o) => o.takesValue)
      .map((o) => {
        const offer = o.choices.length > 0 ? `-W "${o.choices.join(' ')}"` : '-f';
        return `    "${c.name} --${o.name}") COMPREPLY=($(compgen ${offer} -- "$word")); return ;;`;
      }),
  );
  const words = commands.map((c) => {
    const first = c.choices?.[''] ?? [];
    return `    ${c.name}) options="${optionsOf(c)
      .map((o) => `--${o.name}`)
      .join(' ')}" first="${first.join(' ')}" ;;`;
  });
  return [
    '# What bash completes behind caisson; made by: caisson completion bash',
    '_caisson() {',
    '  local word="${COMP_WORDS[COMP_CWORD]}" before="${COMP_WORDS[COMP_CWORD-1]}" command="${COMP_WORDS[1]}" options="" first=""',
    '  if [ "$COMP_CWORD" -eq 1 ]; then',
    `    COMPREPLY=($(compgen -W "${commands.map((c) => c.name).join(' ')} help --version --help" -- "$word"))`,
    '    return',
    '  fi',
    '  case "$command $before" in',
    ...values,
    '  esac',
    '  case "$command" in',
    ...words,
    '  esac',
    '  if [[ "$word" == -* ]]; then',
    '    COMPREPLY=($(compgen -W "$options" -- "$word"))',
    '  elif [ -n "$first" ] && [ "$COMP_CWORD" -eq 2 ]; then',
    '    COMPREPLY=($(compgen -W "$first" -- "$word"))',
    '  else',
    `    COMPREPLY=($(compgen -f -X '!*.rig' -- "$word") $(compgen -d -- "$word"))`,
    '  fi',
    '}',
    'complete -o filenames -F _caisson caisson',
  ];
}

/** A text between single quotes in which a colon and brackets mean themselves. */
const zshText = (text: string): string => text.replace(/[[\]:\\]/g, '\\$&').replace(/'/g, `'\\''`);

function zsh(commands: readonly Command[]): string[] {
  const cases = commands.map((c) => {
    const options = optionsOf(c).map((o) => {
      const value = !o.takesValue ? '' : o.choices.length > 0 ? `:value:(${o.choices.join(' ')})` : ':value:_files';
      return `'--${o.name}[${zshText(o.about)}]${value}'`;
    });
    const first = c.choices?.[''];
    const words = first ? [`'2:word:(${first.join(' ')})'`] : [];
    return `    ${c.name}) _arguments ${[...options, ...words].join(' ')} '*:rig:_files -g "*.rig(-.)"' ;;`;
  });
  return [
    '#compdef caisson',
    '# What zsh completes behind caisson; made by: caisson completion zsh',
    '_caisson() {',
    '  local -a commands',
    '  commands=(',
    ...commands.map((c) => `    '${c.name}:${zshText(c.summary)}'`),
    '  )',
    '  if (( CURRENT == 2 )); then',
    '    _describe command commands',
    '    return',
    '  fi',
    '  case "$words[2]" in',
    ...cases,
    '  esac',
    '}',
    '_caisson "$@"',
  ];
}

const fishText = (text: string): string => `'${text.replace(/[\\']/g, '\\$&')}'`;

function fish(commands: readonly Command[]): string[] {
  const lines = commands.flatMap((c) => {
    const when = `-n '__fish_seen_subcommand_from ${c.name}'`;
    const options = optionsOf(c).map((o) => {
      const choices = o.choices.length > 0 ? ` -f -a ${fishText(o.choices.join(' '))}` : '';
      return `complete -c caisson ${when} -l ${o.name}${o.takesValue ? ' -r' : ''}${choices} -d ${fishText(o.about)}`;
    });
    const first = c.choices?.[''];
    return [
      `complete -c caisson -n __fish_use_subcommand -f -a ${c.name} -d ${fishText(c.summary)}`,
      ...(first ? [`complete -c caisson ${when} -f -a ${fishText(first.join(' '))}`] : []),
      ...options,
    ];
  });
  return ['# What fish completes behind caisson; made by: caisson completion fish', ...lines];
}
