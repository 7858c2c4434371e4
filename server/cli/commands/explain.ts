/** `caisson explain WORD`: what a finding, a metric or a word of the outputs means. */
import { exampleLines, exampleOf } from '../../core/checks/examples';
import { ALL_CODES } from '../../core/document/codes';
import { signatureOf } from '../../core/metrics/metric';
import { METRICS } from '../../core/metrics/registry';
import { GLOSSARY } from '../../core/report/glossary';
import { shortened, UsageError } from '../io';
import type { Command } from './command';
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
  summary: 'what a finding, a metric, a statement or a word of the tables means; without a word: the list of findings',
  help: [
    'WORD: a code or any part of one (overlap, timer/), a metric (repeat), a statement (door), or a column head or word of an output ("to spare")',
  ],
  options: {},
  run(io, words) {
    if (words.length === 0) {
      const width = Math.max(...ALL_CODES.map((c) => c.code.length));
      for (const c of ALL_CODES) io.out(`${c.code.padEnd(width)}  ${c.title}\n`);
      return 0;
    }
    // Words without quotes are one term where that is one: caisson explain to spare.
    const joined = words.join(' ');
    const asked = words.length > 1 && matches(joined).length > 0 ? [joined] : words;
    asked.forEach((word, i) => io.out(`${i > 0 ? '\n' : ''}${answer(word)}`));
    return 0;
  },
};

/** The texts of what a word names; a list where it is a part of many. */
function answer(word: string): string {
  const found = matches(word);
  if (found.length === 0)
    throw new UsageError(
      `There is no code, metric, statement or word ${shortened(word)}; caisson explain lists the codes, REFERENCE.md the words.`,
    );
  if (found.length <= 3) return found.map((e) => `${e.name}${e.title}\n\n${e.text}\n`).join('\n');
  const width = Math.max(...found.map((e) => e.name.length));
  return found.map((e) => `${e.name.padEnd(width)}  ${e.title.replace(/^[^:]*: /, '')}\n`).join('');
}

/** What is named exactly so, else what has the word in its name. */
function matches(word: string): Entry[] {
  const wanted = word.trim().toLowerCase();
  if (wanted === '') return [];
  const all = entries();
  const exact = all.filter((e) => e.name.replace(/\(.*/, '').toLowerCase() === wanted);
  return exact.length > 0 ? exact : all.filter((e) => e.name.toLowerCase().includes(wanted));
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
