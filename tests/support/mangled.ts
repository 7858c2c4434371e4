/** Random texts made from pieces of samples: lines of several rigs mixed, names and numbers exchanged, most of them still readable. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { integer, pick, seeded, type Random } from './random';

const SAMPLES = join(__dirname, '../../samples');
const FOLDERS = ['', 'broken', 'refuted', 'poor'];

const texts: readonly string[] = FOLDERS.flatMap((folder) =>
  readdirSync(join(SAMPLES, folder))
    .filter((name) => name.endsWith('.rig'))
    .map((name) => readFileSync(join(SAMPLES, folder, name), 'utf8')),
);
const lines: readonly string[] = texts.flatMap((text) => text.split('\n')).filter((line) => /\S/.test(line));

/** Numbers that make little sense, and one that makes some. */
const NUMBERS = ['0', '1', '-1', '0.001', '1e-9', '100', '1000000', '9007199254740992', '9007199254740993', '1e300'];
const NAMES = ['__proto__', 'constructor', 'toString', 'hasOwnProperty', 'valueOf', 'Ünlaut', 'x'];
const PIECES = [
  ' and ',
  ' or not ',
  '(',
  ')',
  ' +- 5 %',
  ' = ',
  ' > ',
  '{ ',
  ' }',
  ' .. ',
  '\r',
  '\ud83d',
  '\0',
  '\ufeff',
];

/** A text; deterministic in the seed. */
export function mangledText(seed: number): string {
  const random = seeded(seed);
  const text = pick(random, texts).split('\n');
  for (let k = integer(random, 1, 8); k > 0; k--) changeLine(random, text);
  return text.join(random() < 0.05 ? '\r\n' : '\n');
}

function changeLine(random: Random, text: string[]): void {
  const at = integer(random, 0, text.length - 1);
  const line = text[at] ?? '';
  const change = random();
  if (change < 0.12) text.splice(at, 1);
  else if (change < 0.24) text.splice(at, 0, pick(random, lines));
  else if (change < 0.32) text.splice(integer(random, 0, text.length), 0, line);
  else if (change < 0.6) text[at] = exchanged(random, line, /\b\d+(\.\d+)?\b/g, NUMBERS);
  else if (change < 0.72) text[at] = exchanged(random, line, WORD, wordsOf(random, text));
  // A word of the same line: a member of a stack twice, a signal of itself, a metric of one door.
  else if (change < 0.85) text[at] = exchanged(random, line, WORD, code(line).match(WORD) ?? ['x']);
  else {
    const place = integer(random, 0, line.length);
    text[at] = line.slice(0, place) + pick(random, PIECES) + line.slice(place);
  }
}

const WORD = /[a-z_]\w*/gi;

/** A line without its comment. */
const code = (line: string): string => line.replace(/#.*/, '');

function wordsOf(random: Random, text: readonly string[]): readonly string[] {
  const words = code(pick(random, text)).match(WORD) ?? [];
  return [...words, pick(random, NAMES)];
}

/** A line with one of what it holds exchanged. */
function exchanged(random: Random, line: string, what: RegExp, by: readonly string[]): string {
  const found = [...line.matchAll(what)];
  if (found.length === 0) return line;
  const { index, 0: old } = pick(random, found);
  return line.slice(0, index) + pick(random, by) + line.slice(index + old.length);
}
