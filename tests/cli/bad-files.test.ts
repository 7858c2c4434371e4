/**
 * Every command with every input that cannot be read, every option that is wrong and every output that cannot be written: the
 * documented exit code, one sentence on standard error, no stack trace, and no file changed.
 */
import { spawnSync } from 'node:child_process';
import {
  closeSync,
  constants,
  ftruncateSync,
  lstatSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { nodeIo } from '../../server/cli/io';
import { COMMANDS, main } from '../../server/cli/main';

const SOUND = `rig hopper "Hopper" {
  medium air
  let dwell = 2 s in 1 s .. 3 s
  controller { response 20 ms }
  chamber bin { volume 2 m3  pressure 3 bar }
  chamber silo { volume 4 m3 }
  door slide { pocket 20 L  travel 300 ms }
  door gate { pocket 20 L  travel 300 ms }
  stack bin > slide > gate > silo
  sensor full on bin { pressure above 1.8 bar  clears below 1.2 bar }
  signal go = TP(full, dwell)
  signal next = TON(go, 1 s)
  drive slide = go and not next
  drive gate = next
  scenario day { at 0 s  sensor full on  for 20 s }
  require opens_at(gate) >= 500 ms
}
`;
const PLAN = `rig lock {
  medium air
  chamber quay { volume 6 m3  pressure 1.1 bar }
  chamber hold { volume 2 m3  pressure 1 bar }
  door outer { pocket 10 L  travel 100 ms }
  stack quay > outer > hold
  controller { response 40 ms }
  sensor ready on quay { pressure above 1.5 bar  clears below 1.3 bar }
  sequence plan on ready {
    at 0 s     open outer
    at 1.6 s   close outer
    repeat after 12 s
  }
}
`;
const LOG = 'time [s],slide\n0,0\n0.2,0\n0.4,0.66\n0.6,1\n1.1,1\n1.4,0.2\n1.6,0\n';
const NO_RIG = 'let dwell = 2 s\n';
const FAULTY = SOUND.replace('drive gate = next', 'drive gate = = next');

const home = mkdtempSync(join(tmpdir(), 'caisson-bad-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));
const at = (name: string): string => join(home, name);

/** A folder in which everything that can be wrong with a file is there once. */
function furnish(): void {
  rmSync(home, { recursive: true, force: true });
  mkdirSync(at('empty-folder'), { recursive: true });
  const files: Record<string, string | Buffer> = {
    'sound.rig': SOUND,
    'other.rig': SOUND.replace('2 s in', '2.2 s in'),
    'plan.rig': PLAN,
    'no-rig.rig': NO_RIG,
    'faulty.rig': FAULTY,
    'empty.rig': '',
    'torn.rig': '{"index":0,"values":{"a":1},"measures":{"b":1},"failed":0}\n{}\n',
    'torn-cells.rig': 'index,a,opens_at(b),failed\n0,1\n',
    'latin.rig': Buffer.from('rig r { } # \xe9\n', 'latin1'),
    'wide.rig': Buffer.from(`\uFEFF${SOUND}`, 'utf16le'),
    'wide-unmarked.rig': Buffer.from(SOUND, 'utf16le'),
    'binary.rig': Buffer.from([0x7f, 0x45, 0x4c, 0x46, 2, 1, 1, 0, 0, 0xfe, 0xff, 0, 0x80, 0]),
    'zeros.rig': Buffer.alloc(64),
    'log.csv': LOG,
    'rows.csv': 'index,dwell,opens_at(gate),failed\n0,1,,0\n',
    'record.json': '{"version":"0","rigs":[]}\n',
  };
  for (const [name, data] of Object.entries(files)) writeFileSync(at(name), data);
  const large = openSync(at('large.rig'), 'w');
  ftruncateSync(large, 4 * 1024 * 1024 + 1);
  closeSync(large);
  symlinkSync('nowhere', at('dangling.rig'));
  symlinkSync('circular.rig', at('circular.rig'));
  spawnSync('mkfifo', [at('pipe.rig')]);
}

/** Names, kinds and contents of everything in the folder. */
function contents(folder = home): string[] {
  return readdirSync(folder)
    .sort()
    .flatMap((name) => {
      const path = join(folder, name);
      const stats = lstatSync(path);
      if (stats.isDirectory()) return [`${name}/`, ...contents(path)];
      const text = stats.isFile() && stats.size < 100_000 ? readFileSync(path).toString('latin1') : '';
      return [`${name} ${stats.mode} ${stats.size} ${text}`];
    });
}

interface Outcome {
  readonly code: number | string;
  readonly out: string;
  readonly err: string;
}

async function caisson(words: readonly string[], output?: number): Promise<Outcome> {
  let out = '';
  let err = '';
  let faults = 0;
  const real = nodeIo(output);
  const io = {
    ...real,
    ...(output === undefined ? { out: (t: string | Uint8Array) => void (out += String(t)) } : {}),
    err: (text: string) => void (err += text),
    fault: (sentence: string) => {
      faults++;
      err += `caisson: ${sentence}\n`;
    },
    faulty: () => faults > 0,
    cwd: home,
  };
  const code = await main(words, io).catch((error: unknown) => String((error as Error).stack));
  return { code, out, err };
}

/** A command line that works once `file` (by default the sound rig) stands for FILE. */
interface Line {
  readonly words: readonly string[];
  readonly file?: string;
  /** Options that name a file to write, with a name that they take. */
  readonly writes?: Readonly<Record<string, string>>;
}
const MEASURE = ['--vary', 'dwell=1 s..2 s/500 ms', '--measure', 'least opens_at(gate)', '--workers', '1'];
const LINES: Readonly<Record<string, readonly Line[]>> = {
  check: [
    { words: ['FILE'] },
    { words: ['FILE', '--fix-all'] },
    { words: ['FILE', '--format', 'sarif'] },
    { words: [at('sound.rig'), '--proofs', 'FILE'], file: 'record.json' },
  ],
  ask: [{ words: ['FILE', 'opens_at(gate)'] }],
  timing: [{ words: ['FILE'] }, { words: ['FILE', '--json'] }],
  trace: [
    { words: ['FILE'], writes: { '--out': 'x.csv' } },
    { words: ['FILE', '--scenario', 'day', '--format', 'vcd'] },
  ],
  diagram: [{ words: ['FILE'], writes: { '--out': 'x.svg' } }],
  flow: [
    { words: ['FILE', '--json'], writes: { '--svg': 'x.svg' } },
    { words: ['FILE', '--scenario', 'day'], writes: { '--out': 'x.csv' } },
  ],
  tolerance: [{ words: ['FILE', '--samples', '20', '--runs', '5'] }],
  tune: [{ words: ['FILE', '--starts', '0', '--runs', '20', '--trials', '0', '--states', '0'] }],
  explore: [
    { words: ['FILE', ...MEASURE], writes: { '--out': 'x.jsonl' } },
    { words: ['--merge', 'FILE', '--out', at('x.csv')], file: 'rows.csv' },
  ],
  wire: [
    { words: ['FILE'], file: 'plan.rig' },
    { words: ['FILE', '--apply'], file: 'plan.rig' },
  ],
  size: [{ words: ['FILE', '--target', 'silo 9 kg in 1 min'] }],
  prove: [{ words: ['FILE', '--only', 'gate'] }],
  fit: [
    { words: ['FILE', at('log.csv')], writes: { '--svg': 'x.svg' } },
    { words: [at('sound.rig'), 'FILE'], file: 'log.csv' },
  ],
  compare: [{ words: ['FILE', at('log.csv')] }, { words: [at('sound.rig'), 'FILE'], file: 'log.csv' }],
  diagnose: [{ words: ['FILE', at('log.csv')] }, { words: [at('sound.rig'), 'FILE'], file: 'log.csv' }],
  faults: [{ words: ['FILE'] }],
  format: [{ words: ['FILE'] }, { words: ['FILE', '--check'] }],
  sheet: [{ words: ['FILE'], writes: { '--out': 'x.md' } }],
  report: [{ words: ['FILE'], writes: { '--out': 'x.html' } }],
  diff: [{ words: ['FILE', at('other.rig')], writes: { '--out': 'x.txt' } }, { words: [at('other.rig'), 'FILE'] }],
  export: [
    { words: ['FILE', '--to', 'st'], writes: { '--out': 'x.st' } },
    { words: ['FILE', '--to', 'verilog'], writes: { '--out': 'x.v' } },
  ],
};
const ALL = Object.entries(LINES).flatMap(([name, lines]) =>
  lines.map((line): [string, string, Line] => [name, line.words.join(' ').replaceAll(home, ''), line]),
);

/** No such thing, kinds that are never opened, texts that are not UTF-8: whatever reads a file refuses them. */
const UNREADABLE = [
  'missing.rig',
  'empty-folder',
  '',
  '/dev/zero',
  'pipe.rig',
  'large.rig',
  'latin.rig',
  'wide.rig',
  'wide-unmarked.rig',
  'binary.rig',
  'zeros.rig',
  'dangling.rig',
  'circular.rig',
];
const SENTENCE = /^(caisson: [^\n]*\S\.|\S+:\d+:\d+: error log: [^\n]+)\n$/;

/** What is wrong with how a command ended that should have refused; null where nothing is. */
function refusedBadly({ code, err }: Outcome): string | null {
  return code === 2 && SENTENCE.test(err) && !/undefined|NaN|\[object|\bat .*:\d+:\d+\)/.test(err)
    ? null
    : `exit code ${code}: ${err}`;
}

beforeAll(furnish);

describe('inputs', () => {
  it.each(ALL)('%s %s', async (name, _, { words, file = 'sound.rig' }) => {
    const run = async (path: string): Promise<Outcome> =>
      caisson([name, ...words.map((word) => (word === 'FILE' ? path : word))]);
    const before = contents();
    const bad: string[] = [];
    for (const kind of UNREADABLE) {
      const trouble = refusedBadly(await run(kind === '' || kind.startsWith('/') ? kind : at(kind)));
      if (trouble !== null) bad.push(`${kind}: ${trouble}`);
    }
    expect(bad).toEqual([]);
    if (file.endsWith('.rig')) await withoutRig(name, run);
    expect(contents()).toEqual(before);
    expect((await run(at(file))).code).toBeLessThan(2);
    if (contents().join() !== before.join()) furnish();
  });

  /** What there is to say about texts that can be read: no rig, nothing at all, a mistake in it. */
  async function withoutRig(name: string, run: (path: string) => Promise<Outcome>): Promise<void> {
    const needsRig = name !== 'check' && name !== 'format';
    for (const path of ['no-rig.rig', 'empty.rig']) {
      const outcome = await run(at(path));
      if (needsRig || (name === 'check' && path === 'empty.rig'))
        expect([path, refusedBadly(outcome)]).toEqual([path, null]);
      else expect([path, outcome.code, outcome.err]).toEqual([path, 0, '']);
    }
    const { code, out, err } = await run(at('faulty.rig'));
    expect([1, 2]).toContain(code);
    expect([code, `${out}${err}`]).toEqual([expect.any(Number), expect.not.stringMatching(/undefined|NaN|\n +at /)]);
    const mistake =
      /faulty\.rig[^]*Expected a signal|Expected a signal[^]*faulty\.rig|mistakes in its control|correct: line \d+: Expected a signal|left as it is/;
    // A wiring is drawn of what there is.
    expect(`${out}${err}`).toMatch(name === 'wire' ? /\S/ : mistake);
  }

  it.each(['torn.rig', 'torn-cells.rig', 'log.csv', 'record.json', 'sound.rig'])(
    'explore merges no rows that are not whole: %s',
    async (name) => {
      const outcome = await caisson(['explore', '--merge', at(name), '--out', at('merged.csv')]);
      expect(refusedBadly(outcome)).toBeNull();
    },
  );

  it('every command is in this table, or reads no file', () => {
    const rest = COMMANDS.map((c) => c.name).filter((name) => !(name in LINES));
    expect(rest).toEqual(['new', 'explain', 'completion', 'serve']);
  });
});

/** Values that no option of that name takes. */
const NO_COUNT = ['-1', '1.5', 'x', '1e3', '0x10', '9'.repeat(30)];
const NO_AMOUNT = ['0', '-1', 'x', 'Infinity'];
const NO_TIME = ['1', 's', '-1 s', '1 bar', '1,5 s', '0 s'];
const NO_NAME = ['nothing', '__proto__'];
const NO_CHOICE = ['nothing', '__proto__', 'SVG'];
const OUT_OF_RANGE: Readonly<Record<string, readonly string[]>> = {
  target: [
    '',
    'silo',
    'silo 3 in 1 min',
    'lid 3 kg in 1 min',
    'silo 3 kg in 0 s',
    'silo -3 kg',
    '__proto__ 1 kg in 1 s',
  ],
  let: ['dwell', '=1 s', 'dwell=', 'dwell==', 'dwell=1 s 2'],
  format: NO_CHOICE,
  'max-warnings': NO_COUNT,
  states: NO_COUNT,
  seconds: ['0', ...NO_AMOUNT],
  memory: NO_AMOUNT,
  rig: NO_NAME,
  scenario: NO_NAME,
  trigger: NO_NAME,
  sequence: NO_NAME,
  blocks: NO_CHOICE,
  only: NO_NAME,
  until: NO_TIME,
  at: NO_TIME.filter((t) => t !== '-1 s' && t !== '0 s'),
  step: NO_TIME,
  panel: NO_CHOICE,
  curves: NO_CHOICE,
  look: NO_CHOICE,
  width: [...NO_COUNT, '199', '20001'],
  samples: [...NO_COUNT, '9', '1000001'],
  runs: [...NO_COUNT, '0'],
  seed: NO_COUNT,
  starts: NO_COUNT,
  trials: NO_COUNT,
  workers: [...NO_COUNT, '257'],
  sample: [...NO_COUNT, '0'],
  shard: ['0/2', '3/2', '1', 'x', '1/0'],
  vary: ['dwell', 'dwell=1 s..2 s', 'dwell=2 s..1 s/1 s', 'dwell=1 s..2 s/0 s', 'dwell=1 s..2 bar/1 s', 'none=1..2/1'],
  measure: ['nothing(gate)', '', '{', 'opens_at('],
  to: NO_CHOICE,
  git: ['nothing', '--help', ''],
};
/** Files, and what is not judged by itself. */
const FILES = ['out', 'svg', 'picture', 'diagram', 'proofs', 'stdin-filename', 'free'];

describe('options', () => {
  it.each(ALL.filter(([name], k) => ALL.findIndex(([other]) => other === name) === k))(
    '%s %s',
    async (name, _, line) => {
      const { words, file = 'sound.rig' } = line;
      const { options } = COMMANDS.find((c) => c.name === name)!;
      const run = async (...more: string[]): Promise<Outcome> =>
        caisson([name, ...words.map((word) => (word === 'FILE' ? at(file) : word)), ...more]);
      const tried: string[][] = [['--nothing'], ['--nothing=3'], ['-z'], ['--__proto__', 'x'], ['--constructor']];
      for (const [option, { type }] of Object.entries(options)) {
        if (type === 'boolean') tried.push([`--${option}=3`]);
        else tried.push([`--${option}`], [`--${option}`, '--rig'], [`--${option}=`]);
        if (type === 'string' && !FILES.includes(option)) {
          const values = OUT_OF_RANGE[option];
          if (values === undefined) throw new Error(`no value out of the range of --${option}`);
          for (const value of values) tried.push([`--${option}=${value}`]);
        }
      }
      const before = contents();
      const bad: string[] = [];
      for (const more of tried) {
        if (fits(name, more[0]!)) continue;
        const trouble = refusedBadly(await run(...more));
        if (trouble !== null) bad.push(`${more.join(' ')}: ${trouble}`);
      }
      expect(bad).toEqual([]);
      expect(contents()).toEqual(before);
    },
  );

  /** Values of the table that this command takes after all. */
  function fits(name: string, word: string): boolean {
    // Budgets of a proof may be fractions.
    if (name !== 'tune' && name !== 'tolerance' && /^--(states|seconds)=(1\.5|1e3|0x10|9+)$/.test(word)) return true;
    return false;
  }
});

/** An open stream that takes nothing: a full disk, a closed one, one whose reader has gone. */
const STREAMS: Readonly<Record<string, () => number>> = {
  'full disk': () => openSync('/dev/full', 'w'),
  'closed stream': () => {
    const file = openSync('/dev/null', 'w');
    closeSync(file);
    return file;
  },
  'reader that has gone': () => {
    const reader = openSync(at('pipe.rig'), constants.O_RDONLY | constants.O_NONBLOCK);
    const writer = openSync(at('pipe.rig'), constants.O_WRONLY);
    closeSync(reader);
    return writer;
  },
};

describe('outputs', () => {
  const writesInto = ([name, , { words }]: readonly [string, string, Line]): boolean =>
    words.includes('--apply') || words.includes('--fix-all') || name === 'format';
  const lineOf = (name: string, { words, file = 'sound.rig' }: Line): string[] => [
    name,
    ...words.map((word) => (word === 'FILE' ? at(file) : word)),
  ];
  /** How a command ends with each of the streams as its output. */
  async function outcomes(line: readonly string[], judge: (outcome: Outcome) => unknown): Promise<[string, unknown][]> {
    const found: [string, unknown][] = [];
    for (const [kind, open] of Object.entries(STREAMS)) {
      const stream = open();
      found.push([kind, judge(await caisson(line, stream))]);
      if (kind !== 'closed stream') closeSync(stream);
    }
    return found;
  }

  it.each([
    ...ALL.filter((one) => !writesInto(one)),
    ['new', 'lock', { words: ['lock'] }],
    ['explain', '', { words: [] }],
    ['--help', '', { words: [] }],
  ] as [string, string, Line][])('standard output of %s %s', async (name, _, line) => {
    furnish();
    const found = await outcomes(lineOf(name, line), refusedBadly);
    expect(found).toEqual(Object.keys(STREAMS).map((kind) => [kind, null]));
  });

  it.each(ALL.filter(writesInto))(
    '%s %s writes its file whole or not at all, whatever its output is',
    async (name, _, line) => {
      furnish();
      const before = contents().join();
      await caisson(lineOf(name, line));
      const after = contents().join();
      furnish();
      const found = await outcomes(lineOf(name, line), ({ code }) => {
        const now = contents().join();
        furnish();
        return [[0, 1, 2].includes(Number(code)), now === before || now === after];
      });
      expect(found).toEqual(Object.keys(STREAMS).map((kind) => [kind, [true, true]]));
    },
  );

  it.each(
    ALL.flatMap(([name, text, line]) =>
      Object.keys(line.writes ?? {}).map((option) => [name, text, option, line] as const),
    ),
  )('%s %s %s', async (name, _, option, { words, file = 'sound.rig', writes = {} }) => {
    furnish();
    const good = writes[option]!;
    const ending = good.slice(good.lastIndexOf('.'));
    mkdirSync(at(`folder${ending}`));
    symlinkSync(`round${ending}`, at(`round${ending}`));
    symlinkSync('/dev/full', at(`full${ending}`));
    const before = contents();
    const run = async (path: string): Promise<Outcome> =>
      caisson([name, ...words.map((word) => (word === 'FILE' ? at(file) : word)), option, path]);
    const targets = ['folder', 'none/x', 'round', 'full', 'sound.rig/x', 'n'.repeat(300)].map((n) => at(n + ending));
    for (const path of [...targets, at('x.pdf'), at('new.rig'), at(file), '']) {
      expect([path, refusedBadly(await run(path))]).toEqual([path, null]);
      expect(contents()).toEqual(before);
    }
  });

  it('new never takes the place of a file', async () => {
    const before = contents();
    for (const path of ['sound.rig', 'empty-folder', 'dangling.rig', 'none/x.rig', 'x.txt', ''])
      expect([path, refusedBadly(await caisson(['new', 'lock', '--out', path === '' ? '' : at(path)]))]).toEqual([
        path,
        null,
      ]);
    expect(contents()).toEqual(before);
  });
});
