/** `caisson explain WORD`: what a finding, a metric or a word of the outputs means. */
import { exampleLines, exampleOf } from '../../core/checks/examples';
import { ALL_CODES } from '../../core/document/codes';
import { signatureOf } from '../../core/metrics/metric';
import { METRICS } from '../../core/metrics/registry';
import { GLOSSARY } from '../../core/report/glossary';
import { shortened, UsageError } from '../io';
import type { Command } from './command';
import { STATEMENT_HINTS, STATEMENT_SLIPS } from '../../../grammar/src/slips/words';
import { FUNCTIONS, propertiesOf, STATEMENTS, type StatementSpec } from '../../../grammar/src/vocabulary';

/** Something that can be explained, by the words under which it is found. */
interface Entry {
  readonly name: string;
  /** Beside the name in lists. */
  readonly title: string;
  readonly text: string;
}

export const explain: Command = {
  name: 'explain',
  words: '[WORD …]',
  summary: 'what a finding, a metric, a statement or a word of the tables means; without a word: the list of all',
  help: [
    'WORD: a code or any part of one (overlap, timer/), a metric (repeat), a statement (door), or a column head or word of an output ("to spare")',
  ],
  options: {},
  run(io, words) {
    if (words.length === 0) {
      io.out(list());
      return 0;
    }
    // Words without quotes are one term where that is one: caisson explain to spare.
    const joined = words.join(' ');
    const asked = words.length > 1 && matches(joined).length > 0 ? [joined] : words;
    asked.forEach((word, i) => io.out(`${i > 0 ? '\n' : ''}${answer(word)}`));
    return 0;
  },
};

/** All that can be explained: codes with their titles, then the names of the others. */
function list(): string {
  const width = Math.max(...ALL_CODES.map((c) => c.code.length));
  const codes = ALL_CODES.map((c) => `${c.code.padEnd(width)}  ${c.title}\n`).join('');
  const others: [string, readonly string[]][] = [
    ['metrics', METRICS.map((m) => m.name)],
    ['statements', STATEMENTS.map((s) => s.keyword)],
    ['function blocks', FUNCTIONS.map((f) => f.name)],
    ['words of the tables', GLOSSARY.map((t) => t.word)],
  ];
  return `${codes}${others.map(([title, names]) => `\n${title}:\n${folded(names)}\n`).join('')}`;
}

/** Names with commas between, on lines of at most 100 characters. */
function folded(names: readonly string[]): string {
  const lines: string[] = [];
  for (const name of names) {
    const last = lines.at(-1);
    if (last === undefined || last.length + name.length + 2 > 100) lines.push(`  ${name}`);
    else lines[lines.length - 1] = `${last}, ${name}`;
  }
  return lines.join(',\n');
}

/** The texts of what a word names; a list where it is a part of many. */
function answer(word: string): string {
  const found = matches(word);
  if (found.length === 0)
    throw new UsageError(
      `There is no code, metric, statement or word ${shortened(word)}; caisson explain without a word lists them.`,
    );
  if (found.length <= 3) return found.map((e) => `${e.name}${e.title}\n\n${e.text}\n`).join('\n');
  const width = Math.max(...found.map((e) => e.name.length));
  return found.map((e) => `${e.name.padEnd(width)}  ${e.title.replace(/^[^:]*: /, '')}\n`).join('');
}

/** What is named exactly so, else what has a word that begins so in its name, else what has it anywhere in its name. */
function matches(word: string): Entry[] {
  const wanted = word.trim().toLowerCase();
  if (wanted === '') return [];
  const all = entries();
  const exact = all.filter((e) => e.name.replace(/\(.*/, '').toLowerCase() === wanted);
  const meant = exact.length > 0 ? exact : foreignWords().filter((e) => e.name === wanted);
  if (meant.length > 0) return meant;
  const begins = all.filter((e) => nameParts(e).some((part) => part.startsWith(wanted)));
  return begins.length > 0 ? begins : all.filter((e) => e.name.toLowerCase().includes(wanted));
}

/** A name from each of its words on: `loss/vents` and `vents`. What a metric takes is not its name. */
function nameParts({ name }: Entry): string[] {
  const whole = name.replace(/\(.*/, '').toLowerCase();
  return [...whole.matchAll(/[^\s/_-]+/g)].map((word) => whole.slice(word.index));
}

function entries(): Entry[] {
  return [
    ...ALL_CODES.map((c) => ({
      name: c.code,
      title: ` (${c.severity}): ${c.title}`,
      text: c.explanation + example(c.code),
    })),
    ...METRICS.map((m) => ({
      name: signatureOf(m),
      title: ' (metric): for require and caisson ask',
      text: m.definition,
    })),
    ...STATEMENTS.map((s) => ({ name: s.keyword, title: ' (statement)', text: statementText(s) })),
    ...FUNCTIONS.map((f) => ({
      name: f.name,
      title: ' (function block of IEC 61131-3)',
      text: `${f.name}(${f.inputs.join(', ')}): ${f.doc}.`,
    })),
    ...GLOSSARY.map((t) => ({ name: t.word, title: ` (word): stands in ${t.where}`, text: t.meaning })),
  ];
}

/** Words that people use in the place of those of the language. */
function foreignWords(): Entry[] {
  const title = ': not a word of the language';
  return [
    ...[...STATEMENT_HINTS].map(([name, hint]) => ({ name, title, text: `${sentence(hint())}.` })),
    ...[...STATEMENT_SLIPS].map(([name, keyword]) => {
      const spec = STATEMENTS.find((s) => s.keyword === keyword)!;
      return { name, title, text: `Write ${spec.form}: ${spec.doc}.` };
    }),
  ];
}

const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** The form of a statement, and the properties it may have in braces. */
function statementText({ keyword, form, doc }: StatementSpec): string {
  const properties = propertiesOf(keyword).map((p) => [[p.keyword, ...p.words].join(' '), p.doc] as const);
  const shown = properties.map(([name, text]) => `\n\n  ${name}\n      ${text}`).join('');
  return `${form}: ${doc}.${shown}`;
}

/** Faulty lines and repaired ones below the explanation of a code. */
function example(code: string): string {
  const changes = exampleOf(code);
  if (!changes) return '';
  return `\n\nExample (- faulty, + repaired):\n\n${exampleLines(changes)
    .map((line) => `  ${line}`)
    .join('\n')}`;
}
