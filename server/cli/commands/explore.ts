/** `caisson explore`: measures over a grid or a sample of choices, on all cores and many machines. */
import { resolve } from 'node:path';
import { gridPlan, shardOf, type Axis } from '../../core/choose/explore/plan';
import { unbeaten } from '../../core/choose/explore/unbeaten';
import { explorePicture } from '../../core/diagram/explore/picture';
import { caution } from '../../core/report/caution';
import { noted } from '../../core/diagram/kit/noted';
import { textTable } from '../../core/report/text-table';
import { parseAmount } from '../amounts';
import { runExploration } from '../explore-pool';
import { headerOf, openExploration, type Exploration } from '../explore-work';
import { mergeTables, readTable, tableText, type Table } from '../explore-table';
import { openInputs, type Input } from '../inputs';
import { outputFormat, UsageError, type Io } from '../io';
import { svgToPng } from '../png';
import { selectRig } from '../select';
import { besideRows } from '../taken';
import { blockingErrors } from './blocking';
import { countOf, inputOptions, LET_HELP, LET_OPTION, stringOf, stringsOf, type Command, type Values } from './command';

const FORMATS = ['jsonl', 'csv'] as const;
type Format = (typeof FORMATS)[number];

export const explore: Command = {
  name: 'explore',
  words: 'FILE | --merge RESULTS …',
  summary: 'measures over a grid or a sample of choices, on all cores or many machines',
  help: [
    '--vary NAME=LOW..HIGH/STEP   a constant and its values: settle="1 s..3 s/50 ms" (several times)',
    '--measure "[most|least] METRIC(…)"   what is measured (several times); more is better unless least',
    '--sample N              a seeded Latin hypercube of N choices instead of the whole grid',
    '--seed N                seed of the sample (default 1)',
    '--out FILE              rows to a file (.jsonl or .csv); a run that was interrupted goes on where it stopped',
    '--shard I/N             only part I of N, for job arrays; --merge joins the files',
    '--merge                 joins files of results (in any order) into --out',
    '--workers N             threads (default: one a core)',
    '--picture FILE          SVG or PNG: a curve for one constant, a map for two, a trade-off for two measures',
    '--rig NAME              this rig, where the file holds several',
    ...LET_HELP,
  ],
  options: {
    ...LET_OPTION,
    vary: { type: 'string', multiple: true },
    measure: { type: 'string', multiple: true },
    sample: { type: 'string' },
    seed: { type: 'string' },
    out: { type: 'string' },
    shard: { type: 'string' },
    merge: { type: 'boolean' },
    workers: { type: 'string' },
    picture: { type: 'string' },
    rig: { type: 'string' },
  },
  async run(io, words, values) {
    const out = stringOf(values, 'out');
    const format = outputFormat(FORMATS, out, undefined);
    const picture = stringOf(values, 'picture');
    if (picture !== undefined) outputFormat(['svg', 'png'], picture, undefined);
    if (values['merge']) {
      if (out === undefined) throw new UsageError('--merge wants --out FILE.');
      if (words.length === 0) throw new UsageError('Name the files of results to merge.');
      const table = mergeTables(words.map((w) => readTable(w, io.read(resolve(io.cwd, w)))));
      io.write(resolve(io.cwd, out), tableText(table));
      const code = await finish(io, table, stringsOf(values, 'measure'), values);
      besideRows(io);
      return code;
    }
    return exploreFile(io, words, values, out, format);
  },
};

async function exploreFile(
  io: Io,
  words: readonly string[],
  values: Values,
  out: string | undefined,
  format: Format,
): Promise<number> {
  const inputs = inputsOf(io, words, values);
  const exploration = explorationOf(io, inputs, words[0]!, values, format);
  const { plan } = openExploration(io, exploration);
  const shard = shardIn(stringOf(values, 'shard'));
  const { from, to } = shardOf(plan.count, shard.part, shard.of);
  const path = out === undefined ? null : resolve(io.cwd, out);
  const header = exploration.format === 'csv' ? headerOf(exploration) : '';
  const done = path ? resume(io, path, header, from, to) : 0;
  if (!path && header !== '') io.out(header);
  const started = Date.now();
  let said = started;
  await runExploration(io, exploration, {
    from: from + done,
    to,
    workers: countOf(values, 'workers', 0, 0, MOST_WORKERS),
    write: (rows) => (path ? io.append(path, rows) : io.out(rows)),
    progress: (n) => {
      const now = Date.now();
      if (!io.colour || now - said < 500) return;
      said = now;
      const left = ((now - started) / n) * (to - from - done - n);
      io.err(`\r${bar((done + n) / (to - from))} ${done + n} of ${to - from}, ${Math.ceil(left / 1000)} s left   `);
    },
  });
  if (io.colour) io.err('\r\u001b[K');
  const blocked = blockingErrors(io, inputs);
  const measures = stringsOf(values, 'measure');
  const shown = path ? await finish(io, readTable(out!, io.read(path, MOST_BYTES)), measures, values) : 0;
  besideRows(io);
  return Math.max(blocked, shown);
}

const MOST_BYTES = 1 << 30;
const MOST_WORKERS = 256;
const bar = (share: number): string => `[${'#'.repeat(Math.round(share * 30)).padEnd(30, '.')}]`;

function inputsOf(io: Io, words: readonly string[], values: Values): Input[] {
  if (words.length !== 1 || words[0] === '-') throw new UsageError('Name one .rig file.');
  return openInputs(io, words, inputOptions(values));
}

function explorationOf(io: Io, inputs: readonly Input[], file: string, values: Values, format: Format): Exploration {
  const { input, facts } = selectRig(inputs, stringOf(values, 'rig'));
  const axes = stringsOf(values, 'vary').map(axisOf);
  const measures = stringsOf(values, 'measure').map(measureOf);
  if (axes.length === 0) throw new UsageError('--vary says what is varied, such as --vary settle="1 s..3 s/50 ms".');
  if (measures.length === 0)
    throw new UsageError('--measure says what is measured, such as --measure "least repeat()".');
  refuseTwice(
    '--vary',
    axes.map((a) => a.name),
  );
  refuseTwice(
    '--measure',
    measures.map((m) => m.text.replace(/\s+/g, '')),
    measures.map((m) => m.text),
  );
  const declared = new Set(
    input.document
      .resolved()
      .declarations.filter((d) => d.kind === 'let')
      .map((d) => d.name),
  );
  const missing = axes.find((a) => !declared.has(a.name));
  if (missing)
    throw new UsageError(`--vary ${missing.name}: there is no constant of that name (let ${missing.name} = …).`);
  const sample = stringOf(values, 'sample');
  const samples = sample === undefined ? null : countOf(values, 'sample', 0, 1, MOST_POINTS);
  if (samples === null && gridPlan(axes).count > MOST_POINTS)
    throw new UsageError(
      `This grid has ${gridPlan(axes).count} points, more than ${MOST_POINTS}; take larger steps, or --sample N.`,
    );
  return {
    path: resolve(io.cwd, file),
    rig: facts.rig.name,
    lets: stringsOf(values, 'let'),
    axes,
    measures,
    samples,
    seed: countOf(values, 'seed', 1, 0),
    format,
  };
}

/** Columns are known by their names. */
function refuseTwice(option: string, keys: readonly string[], names = keys): void {
  const again = keys.findIndex((key, k) => keys.indexOf(key) < k);
  if (again >= 0) throw new UsageError(`${option} names ${names[again]!} twice.`);
}

const MOST_POINTS = 50_000_000;

function axisOf(word: string): Axis {
  const match = /^\s*([^=]+?)\s*=\s*(.+?)\s*\.\.\s*(.+?)\s*\/\s*(.+?)\s*$/.exec(word);
  if (!match) throw new UsageError(`--vary wants NAME=LOW..HIGH/STEP, such as settle="1 s..3 s/50 ms", not ${word}.`);
  const [, name, ...ends] = match as unknown as [string, string, string, string, string];
  const [low, high, step] = ends.map((e) => parseAmount('--vary', e));
  if (low!.dimension !== high!.dimension || low!.dimension !== step!.dimension)
    throw new UsageError(`--vary ${word}: its ends and its step measure different things.`);
  if (low!.value > high!.value) throw new UsageError(`--vary ${word}: the low end is above the high end.`);
  if (step!.value <= 0) throw new UsageError(`--vary ${word}: the step must be above zero.`);
  return {
    name: name.normalize('NFC'),
    dimension: low!.dimension,
    low: low!.value,
    high: high!.value,
    step: step!.value,
  };
}

function measureOf(word: string): { text: string; least: boolean } {
  const match = /^\s*(?:(least|most)\s+)?(.+?)\s*$/.exec(word);
  if (!match || /[\n{}]/.test(word))
    throw new UsageError(`--measure wants a metric, such as "least repeat()", not ${word}.`);
  return { text: match[2]!, least: match[1] === 'least' };
}

function shardIn(text: string | undefined): { part: number; of: number } {
  if (text === undefined) return { part: 1, of: 1 };
  const match = /^(\d+)\/(\d+)$/.exec(text);
  const [part, of] = [Number(match?.[1]), Number(match?.[2])];
  if (!match || part < 1 || part > of)
    throw new UsageError(`--shard wants I/N with I from 1 to N, such as 3/8, not ${text}.`);
  return { part, of };
}

/** Rows that a results file already holds, from the first of this part on; what is not whole is cut off. */
function resume(io: Io, path: string, header: string, from: number, to: number): number {
  if (io.kind(path) !== 'file') {
    io.write(path, header);
    return 0;
  }
  const text = io.read(path, MOST_BYTES);
  const whole = text.slice(0, text.lastIndexOf('\n') + 1);
  // Whoever was interrupted in the first line left a beginning of it; anything else is not ours.
  const isBegun = header === '' ? /^($|\{)/.test(text) : header.startsWith(text);
  if (whole === header || (whole === '' && isBegun)) {
    io.rewrite(path, header);
    return 0;
  }
  const { rows } = readTable(path, whole);
  if (!whole.startsWith(header) || rows.some((row, k) => row.index !== from + k) || rows.length > to - from)
    throw new UsageError(`${path} holds results of something else; name another file for --out.`);
  if (whole !== text) io.rewrite(path, whole);
  return rows.length;
}

const SHOWN = 20;

async function finish(io: Io, table: Table, measures: readonly string[], values: Values): Promise<number> {
  const least = measures.map((m) => measureOf(m).least);
  const signed = table.rows.map((r) =>
    r.failed > 0 ? r.measures.map(() => null) : r.measures.map((m, k) => (m === null || !least[k] ? m : -m)),
  );
  const best = unbeaten(signed);
  const failing = table.rows.filter((r) => r.failed > 0).length;
  io.out(
    `${table.rows.length} choices, ${failing} of them with requirements that do not hold; ${best.length} unbeaten${best.length > SHOWN ? `, the first ${SHOWN}` : ''}:\n`,
  );
  const rows = best.slice(0, SHOWN).map((k) => {
    const row = table.rows[k]!;
    return [`${row.index}`, ...row.values.map(String), ...row.measures.map((m) => `${m ?? ''}`)];
  });
  io.out(
    textTable(
      [['choice', ...table.axes, ...table.measures], ...rows],
      ['right', ...table.axes.map(() => 'right' as const), ...table.measures.map(() => 'right' as const)],
    ).join('\n') + '\n',
  );
  const picture = stringOf(values, 'picture');
  if (picture !== undefined) {
    const drawn = explorePicture({
      axes: table.axes,
      measures: table.measures,
      rows: table.rows,
      unbeaten: new Set(best),
    });
    const svg = noted(drawn, caution());
    io.write(resolve(io.cwd, picture), /\.png$/i.test(picture) ? await svgToPng(svg, 760) : svg);
  }
  return 0;
}
