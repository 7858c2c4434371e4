/** A text read again after an edit gives what reading the whole gives, whatever the edit; statements that it leaves alone are the very same. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse, parseSteps } from '../../grammar/src/api';
import type { Expression, ParseResult } from '../../grammar/src/ast';
import { wholeOf } from '../../grammar/src/operators';
import { drained } from '../../grammar/src/read';
import { STATEMENTS } from '../../grammar/src/vocabulary';
import { integer, pick, seeded, type Random } from '../support/random';

const SAMPLES = join(__dirname, '../../samples');
const texts = ['', 'broken', 'poor'].flatMap((folder) =>
  readdirSync(join(SAMPLES, folder))
    .filter((name) => name.endsWith('.rig'))
    .map((name) => readFileSync(join(SAMPLES, folder, name), 'utf8')),
);
/** Statements outside rigs, and rigs in one line. */
const BETWEEN = [
  'let spare = (2 + 3) * 1 s',
  '# a word\nlet a = 1 s # behind it',
  'medium brew { liquid density 1030 kg/m3 }',
  'part p(t) { signal x = TON(t, 1 s) }',
  'rig short { signal go = on }  rig other { signal go = on }',
  '',
];
const PIECES = [
  ...STATEMENTS.map((s) => `${s.keyword} `),
  ...[
    '{',
    '}',
    '(',
    ')',
    '\n',
    '\r\n',
    '\r',
    ' ',
    '"',
    '#',
    ',',
    '=',
    '>',
    '+',
    ' and ',
    '-',
    '.',
    '5',
    ' s',
    '\n\n',
    '# x\n',
    'x',
  ],
  ...['\n}\nrig more {\n', 'let q = 1 +\n', ' off', ' is open', 'in-let', '2,5 s'],
];
const RUNS = Number(process.env.FUZZ_RUNS ?? 40);
const SEED = Number(process.env.FUZZ_SEED ?? 20_261_128);

/** Several rigs with other statements between them. */
function several(random: Random): string {
  const pieces = Array.from({ length: integer(random, 1, 4) }, () => [
    pick(random, texts),
    pick(random, BETWEEN),
  ]).flat();
  const text = pieces.join('\n');
  return random() < 0.1 ? text.replaceAll('\n', random() < 0.5 ? '\r\n' : '\r') : text;
}

/** One edit as somebody makes it: something typed, taken away, or put in another's place; sometimes at a line's end. */
function edited(random: Random, text: string): string {
  let at = integer(random, 0, text.length);
  if (random() < 0.3) at = Math.max(0, text.indexOf('\n', at));
  const end = random() < 0.5 ? at : at + integer(random, 0, random() < 0.1 ? 400 : 6);
  const piece = random() < 0.3 ? '' : random() < 0.1 ? pick(random, BETWEEN) : pick(random, PIECES);
  return text.slice(0, at) + piece + text.slice(end);
}

/** Every expression that stands in parentheses, with their place. */
function groupsOf(value: unknown, found: unknown[] = []): unknown[] {
  if (typeof value !== 'object' || value === null) return found;
  const expression = value as Expression;
  if ('kind' in value && wholeOf(expression) !== expression.span) found.push([expression.span, wholeOf(expression)]);
  Object.values(value).forEach((inner) => groupsOf(inner, found));
  return found;
}

const plain = ({ tree, problems, tokens }: ParseResult): unknown => ({
  tree,
  problems,
  tokens,
  groups: groupsOf(tree),
});
const reread = (text: string, before: ParseResult): ParseResult => drained(parseSteps(text, before));

describe('a text read again', () => {
  it(`gives what the whole gives (edits from ${SEED} on)`, { timeout: 60_000 + RUNS * 400 }, () => {
    for (let seed = SEED; seed < SEED + RUNS; seed++) {
      const random = seeded(seed);
      let text = several(random);
      let result = parse(text);
      let before = text;
      for (let k = 0; k < 12; k++) {
        // Now and then the last edit is taken back, so that many edits start from a text without mistakes.
        const next = k % 2 === 1 && random() < 0.6 ? before : edited(random, text);
        before = text;
        result = reread(next, result);
        text = next;
        expect(plain(result), `seed ${seed}, edit ${k}`).toEqual(plain(parse(text)));
      }
    }
  });

  it('keeps statements before an edit, and copies those behind it where they move', () => {
    const text = 'let a = 1 s\nrig one { signal go = on }\nrig two { signal go = on }\nrig three { signal go = on }\n';
    const first = parse(text);
    const same = reread(text.replace('two', 'six'), first);
    expect(same.tree.statements.map((s, i) => s === first.tree.statements[i])).toEqual([true, true, false, true]);
    const longer = reread(text.replace('two', 'second'), same);
    expect(longer.tree.statements.map((s, i) => s === same.tree.statements[i])).toEqual([true, true, false, false]);
    expect(longer.tree.statements[3]!.span.start).toBe(first.tree.statements[3]!.span.start + 3);
  });

  it('reads on from the last version without mistakes while a line is being written', () => {
    const text = 'rig one { signal go = on }\nrig two {\n  signal go = on\n}\nrig three { signal go = on }\n';
    const sound = parse(text);
    const broken = reread(text.replace('  signal go = on\n', '  signal go = on\n  signal x = \n'), sound);
    expect(broken.problems).not.toEqual([]);
    expect(broken.tree.statements[0]).toBe(sound.tree.statements[0]);
    const mended = reread(text, broken);
    expect(mended.tree.statements[1]).toBe(sound.tree.statements[1]);
  });
});
