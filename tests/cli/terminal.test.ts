/** Manners on a terminal: shells complete what there is, tables fit, colours can be refused, files are watched. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { displayWidth } from '../../server/core/report/text-table';
import { completionScript } from '../../server/cli/commands/completion';
import { fitted } from '../../server/cli/fitted';
import { nodeIo, UsageError } from '../../server/cli/io';
import { COMMANDS } from '../../server/cli/main';
import { watching } from '../../server/cli/watching';
import { nextChange } from '../../server/disk/changes';
import { run } from './run';

const has = (program: string): boolean => spawnSync(program, ['--version']).error === undefined;

describe('completions', () => {
  /** What bash offers for the words, the last one being typed. */
  function offered(...words: string[]): string[] {
    const script = `${completionScript('bash', COMMANDS)}
COMP_WORDS=(caisson ${words.map((w) => `'${w}'`).join(' ')}); COMP_CWORD=${words.length}; _caisson
printf '%s\\n' "\${COMPREPLY[@]}"`;
    const ran = spawnSync('bash', ['-c', script], { cwd: 'samples', encoding: 'utf8' });
    expect(ran.stderr).toBe('');
    return ran.stdout.split('\n').filter((line) => line !== '');
  }

  it('in bash: commands, options, their values, rigs and folders', () => {
    expect(offered('di')).toEqual(['diagram', 'diagnose', 'diff']);
    expect(offered('check', '--st').sort()).toEqual(['--states', '--stdin-filename', '--strict']);
    expect(offered('check', '--format', 's')).toEqual(['sarif']);
    expect(offered('export', '--to', '')).toEqual(['c', 'st', 'verilog', 'dot']);
    expect(offered('timing', 'qu')).toEqual(['quay_lock.rig']);
    expect(offered('timing', 'br')).toEqual(['brine_lift.rig', 'broken']);
    expect(offered('new', 'l')).toEqual(['lock', 'lift']);
    expect(offered('completion', '')).toEqual(['bash', 'zsh', 'fish']);
  });

  it('in bash: every option of every command', () => {
    for (const { name, options } of COMMANDS)
      expect(offered(name, '--').sort()).toEqual([...Object.keys(options), 'help'].map((o) => `--${o}`).sort());
  });

  it.each(['zsh', 'fish'] as const)('in %s: every command and option, in a script that the shell reads', (shell) => {
    const script = completionScript(shell, COMMANDS);
    for (const { name, options } of COMMANDS) {
      expect(script).toMatch(new RegExp(shell === 'zsh' ? `^ {4}'${name}:` : ` -a ${name} -d `, 'm'));
      const of = script
        .split('\n')
        .filter((line) => line.includes(shell === 'zsh' ? `    ${name}) ` : `from ${name}'`));
      for (const option of Object.keys(options))
        expect(of.some((line) => line.includes(shell === 'zsh' ? `'--${option}[` : ` -l ${option} `))).toBe(true);
    }
    if (!has(shell)) return;
    const file = join(mkdtempSync(join(tmpdir(), 'caisson-shell-')), 'caisson');
    writeFileSync(file, script);
    const read = spawnSync(shell, ['-n', file], { encoding: 'utf8' });
    rmSync(dirname(file), { recursive: true });
    expect({ status: read.status, stderr: read.stderr }).toEqual({ status: 0, stderr: '' });
  });

  const RIG = 'samples/quay_lock.rig';
  /** Arguments with which a command comes to look at the option. */
  const BEFORE: Readonly<Record<string, readonly string[]>> = {
    diff: [RIG, RIG],
    flow: [RIG, '--scenario', 'x'],
    compare: [RIG, 'log.csv'],
    new: [],
    completion: [],
  };

  it.each(COMMANDS.flatMap(({ name, choices = {} }) => Object.keys(choices).map((option) => [name, option] as const)))(
    '%s --%s takes the words that are offered, and names them',
    async (name, option) => {
      const words = [...(BEFORE[name] ?? [RIG]), ...(option === '' ? [] : [`--${option}`]), 'nonsense'];
      const more = name === 'new' ? ['x.rig'] : [];
      const { code, err } = await run([name, ...words, ...more], { 'log.csv': 'time [s],inner\n0,0\n1,1\n' });
      expect([code, err]).toEqual([2, expect.any(String)]);
      for (const choice of COMMANDS.find((c) => c.name === name)!.choices![option]!) expect(err).toContain(choice);
    },
  );

  it('offers words only for options that there are', () => {
    const named = COMMANDS.flatMap(({ name, choices = {}, options }) =>
      Object.keys(choices).flatMap((option) => (option === '' || option in options ? [] : [`${name} --${option}`])),
    );
    expect(named).toEqual([]);
  });

  it('wants a shell that there is', async () => {
    const { code, err } = await run(['completion', 'tcsh']);
    expect({ code, err }).toEqual({ code: 2, err: 'caisson: completion wants one of bash, zsh, fish, not tcsh.\n' });
  });
});

describe('tables on a terminal', () => {
  it.each([60, 80, 100, 120])('fit %s columns, with every word in its place', async (columns) => {
    const { out } = await run(['check', 'samples/digester_bank.rig', 'samples/broken/loss-vents.rig', '--values']);
    const lines = fitted(out, columns).split('\n');
    const wide = lines.filter((line) => displayWidth(line) > columns);
    // What is left is prose, or a word that is itself too long.
    expect(wide.filter((line) => / {2,}\S+ \S/.test(line.trimStart()) && columns >= 80)).toEqual([]);
    expect(lines.join(' ').replace(/\s+/g, ' ')).toBe(out.replace(/\s+/g, ' '));
  });

  it.each([60, 80, 100])(
    'fit %s columns where a cell has several lines: faults and the looks for them',
    async (columns) => {
      const { out } = await run(['faults', 'samples/digester_bank.rig']);
      const lines = fitted(out, columns).split('\n');
      // The caution at the end is prose.
      expect(lines.slice(0, -2).filter((line) => displayWidth(line) > columns)).toEqual([]);
      expect(lines.join(' ').replace(/\s+/g, ' ')).toBe(out.replace(/\s+/g, ' '));
      // What goes on stands below its own cell: no line of the table begins left of it.
      const table = lines.slice(lines.indexOf('') + 1, lines.lastIndexOf('Looks that tell them apart:') - 1);
      const cell = table[0]!.indexOf('wire from');
      expect(
        table.filter(
          (line) => !/^ *(\d+\.|effect|detection|distinguished by) /.test(line) && line.search(/\S/) !== cell,
        ),
      ).toEqual([]);
    },
  );

  it('leaves what fits, JSON and mark-up alone, and counts no colours', () => {
    const row = `name   \u001b[33m${'word '.repeat(9).trim()}\u001b[0m`;
    expect(fitted(row, 51)).toBe(row);
    expect(fitted(row, 40)).toBe(`name   \u001b[33mword word word word word word\n       word word word\u001b[0m`);
    expect(fitted(`{"a":  "${'b '.repeat(50)}"}`, 40)).toBe(`{"a":  "${'b '.repeat(50)}"}`);
    expect(fitted('x'.repeat(90), 40)).toBe('x'.repeat(90));
  });
});

describe('colours', () => {
  const { isTTY } = process.stdout;
  afterEach(() => {
    vi.unstubAllEnvs();
    process.stdout.isTTY = isTTY;
  });

  it.each([
    [true, undefined, true],
    [true, '1', false],
    [false, undefined, false],
  ])('terminal %s, NO_COLOR %s: %s', (terminal, refused, coloured) => {
    process.stdout.isTTY = terminal;
    vi.stubEnv('NO_COLOR', refused);
    expect(nodeIo().colour).toBe(coloured);
  });
});

describe('--watch', () => {
  it('runs again after each change, and waits out a file that is gone for a moment', async () => {
    const said: string[] = [];
    let left = 3;
    const io = {
      ...nodeIo(),
      out: () => undefined,
      err: (text: string) => void said.push(text),
      changed: async () => left-- > 0,
    };
    let runs = 0;
    const code = await watching(io, () => {
      if (++runs === 2) throw new UsageError('a.rig cannot be read.');
      return runs === 4 ? 1 : 0;
    });
    expect({ code, runs }).toEqual({ code: 1, runs: 4 });
    expect(said.join('')).toBe('Watching for changes; Ctrl+C ends.\ncaisson: a.rig cannot be read.\n');
  });

  it('notices a file that is written, one that takes its place, and a new rig in a folder; nothing else', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'caisson-watch-'));
    const at = (name: string): string => join(folder, name);
    writeFileSync(at('a.rig'), '1');
    const after = async (change: () => void, folders: string[] = []): Promise<boolean> => {
      const noticed = nextChange([at('a.rig')], folders).then(() => true);
      change();
      return Promise.race([noticed, new Promise<boolean>((resolve) => setTimeout(() => resolve(false), 400))]);
    };
    expect(await after(() => writeFileSync(at('a.rig'), '2'))).toBe(true);
    writeFileSync(at('new'), '3');
    expect(await after(() => renameSync(at('new'), at('a.rig')))).toBe(true);
    expect(await after(() => writeFileSync(at('b.rig'), '4'))).toBe(false);
    expect(await after(() => writeFileSync(at('c.rig'), '5'), [folder])).toBe(true);
    rmSync(folder, { recursive: true, force: true });
  });

  it.each([
    ['check', '-'],
    ['check', 'samples/quay_lock.rig', '--fix'],
    ['diagram', 'samples/quay_lock.rig'],
  ])('%s %s %s cannot be watched, in one sentence', async (...words) => {
    const { code, err } = await run([...words, '--watch']);
    expect(code).toBe(2);
    expect(err).toMatch(/^caisson: --watch [^\n]*\n$/);
  });

  it('checks and draws once where nothing more changes', async () => {
    expect((await run(['check', 'samples/quay_lock.rig', '--watch'])).code).toBe(0);
    const drawn = await run(['diagram', 'samples/quay_lock.rig', '--out', 'x.svg', '--watch']);
    expect({ code: drawn.code, written: [...drawn.written.keys()] }).toEqual({ code: 0, written: ['x.svg'] });
  });
});
