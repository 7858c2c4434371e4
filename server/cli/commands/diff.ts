/** `caisson diff`: what changed between two versions of a rig, as text, Markdown (for a pull request) or JSON. */
import { resolve } from 'node:path';
import { diffRigs, type RigDiff } from '../../core/report/diff';
import { diffTables } from '../../core/report/diff-tables';
import { caution } from '../../core/report/caution';
import { pageMarkdown } from '../../core/report/page/markdown';
import type { PageBlock } from '../../core/report/page/page';
import { textTable } from '../../core/report/text-table';
import { readAtRevision } from '../../disk/git-file';
import type { DecodedText } from '../../protocol/text-bytes';
import { documentAt, openInputs, type Input } from '../inputs';
import { shortened, UsageError, wantEnding, type Io } from '../io';
import { noRig, selectRigs } from '../select';
import { taken } from '../taken';
import { blockingErrors } from './blocking';
import { stringOf, stringsOf, type Command } from './command';

const FORMATS = ['text', 'md', 'json'] as const;

export const diff: Command = {
  name: 'diff',
  words: 'OLD NEW | --git REV [--git REV] FILE',
  summary: 'what changed between two versions: times, verdicts, settings, parts, connections',
  help: [
    '--git REV               compare FILE as of this revision with FILE now, or (given twice) with another revision',
    '--format FORMAT         text (default), md or json',
    '--out FILE              write to a file',
    'Exit code 0: nothing differs; 1: something does; 2: usage or file trouble.',
  ],
  options: {
    git: { type: 'string', multiple: true },
    format: { type: 'string' },
    json: { type: 'boolean' },
    out: { type: 'string', short: 'o' },
  },
  choices: { format: FORMATS },
  run(io, words, values) {
    const format = values['json'] ? 'json' : (stringOf(values, 'format') ?? 'text');
    if (!(FORMATS as readonly string[]).includes(format))
      throw new UsageError(`--format is one of ${FORMATS.join(', ')}, not ${format}.`);
    const out = stringOf(values, 'out') ?? '-';
    wantEnding(['txt', 'md', 'json'], out);
    const [old, now] = sidesOf(io, words, stringsOf(values, 'git'));
    const diffs = pairsOf(old, now);
    const text = render(diffs, format as (typeof FORMATS)[number]);
    if (out === '-') io.out(text);
    else io.write(out, text);
    return Math.max(blockingErrors(io, [old, now]), diffs.some((d) => d.rows.length > 0) ? 1 : 0);
  },
};

function sidesOf(io: Io, words: readonly string[], revisions: readonly string[]): [Input, Input] {
  if (revisions.length > 2) throw new UsageError('--git stands once or twice.');
  if (revisions.length === 0) {
    if (words.length !== 2) throw new UsageError('Name two files, the old one first, or one file with --git REV.');
    return [one(openInputs(io, [words[0]!]), words[0]!), one(openInputs(io, [words[1]!]), words[1]!)];
  }
  if (words.length !== 1) throw new UsageError('With --git, name one file.');
  const file = words[0]!;
  const old = atRevision(io, file, revisions[0]!);
  return [old, revisions[1] === undefined ? one(openInputs(io, [file]), file) : atRevision(io, file, revisions[1])];
}

function one(inputs: readonly Input[], word: string): Input {
  if (inputs.length !== 1) throw new UsageError(`${word} holds several files; name one.`);
  return inputs[0]!;
}

/** A file as it was at a revision; what it imports is read at that revision too. */
function atRevision(io: Io, file: string, revision: string): Input {
  const path = resolve(io.cwd, file);
  const read = (of: string): DecodedText => readAtRevision(of, revision);
  const decoded = read(path);
  if (!decoded.ok) throw new UsageError(`${shortened(file)} ${decoded.reason}.`);
  return { path: `${file} at ${revision}`, ...documentAt(path, decoded.text, read) };
}

/** Rigs of the same name, else the only ones of either side; then those that only one side has. */
function pairsOf(old: Input, now: Input): RigDiff[] {
  const before = selectRigs([old], undefined);
  const after = selectRigs([now], undefined);
  if (before.length === 0 || after.length === 0) throw new UsageError(noRig([before.length === 0 ? old : now]));
  const alone = before.length === 1 && after.length === 1;
  const side = (input: Input, facts: (typeof before)[number]['facts']) => ({
    facts,
    problems: input.document.problems().filter((p) => p.at.uri === input.document.uri),
  });
  const pairs = after.flatMap((rig) => {
    const partner = alone ? before[0] : before.find((r) => r.facts.rig.name === rig.facts.rig.name);
    return partner ? [diffRigs(side(old, partner.facts), side(now, rig.facts))] : [];
  });
  if (pairs.length === 0) throw new UsageError('No rig has the same name in both files.');
  return alone ? pairs : [...pairs, ...onOneSide(namesOf(before), namesOf(after))];
}

const namesOf = (rigs: ReturnType<typeof selectRigs>): string[] => rigs.map(({ facts }) => facts.rig.name);

/** Rigs that only one of the files holds: as a whole added or removed. */
function onOneSide(before: readonly string[], after: readonly string[]): RigDiff[] {
  const row = (name: string, old: string | null, now: string | null): RigDiff => ({
    name,
    rows: [{ group: 'parts', what: 'the rig', old, now, change: old === null ? 'added' : 'removed' }],
  });
  return [
    ...after.filter((name) => !before.includes(name)).map((name) => row(name, null, 'is there')),
    ...before.filter((name) => !after.includes(name)).map((name) => row(name, 'was there', null)),
  ];
}

function render(diffs: readonly RigDiff[], format: (typeof FORMATS)[number]): string {
  // What differs is taken to a rig; that nothing does, is not.
  const cautioned = diffs.some((d) => d.rows.length > 0) ? [caution()] : [];
  if (format === 'json') return taken({ rigs: diffs });
  if (format === 'md') {
    const blocks = diffs.flatMap((d): PageBlock[] => [
      { kind: 'heading', level: 3, text: d.name },
      ...(d.rows.length === 0 ? [{ kind: 'text' as const, text: 'Nothing differs.' }] : diffTables(d)),
    ]);
    return pageMarkdown({
      title: 'Changes',
      blocks: [...blocks, ...cautioned.map((text) => ({ kind: 'caution' as const, text }))],
    });
  }
  return [...diffs.map(textOf), ...cautioned.map((text) => [text])].map((lines) => lines.join('\n') + '\n').join('\n');
}

function textOf(d: RigDiff): string[] {
  if (d.rows.length === 0) return [`${d.name}: nothing differs.`];
  return [
    d.name,
    ...diffTables(d).flatMap((table) => [
      '',
      table.caption,
      ...textTable(
        [table.columns, ...table.rows],
        table.columns.map((_, i) => (table.numeric?.includes(i) ? 'right' : 'left')),
      ),
    ]),
  ];
}
