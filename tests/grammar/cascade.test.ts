/** One mistake gives one message: sound samples with one token left out, doubled, or cut off after it. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';

const FOLDER = join(__dirname, '../../samples');
const samples = readdirSync(FOLDER)
  .filter((file) => file.endsWith('.rig'))
  .map((file) => ({ file, text: readFileSync(join(FOLDER, file), 'utf8') }));

const messages = (text: string) =>
  parse(text).problems.map((p) => `${text.slice(0, p.span.start).split('\n').length}: ${p.message}`);
const tokensOf = (text: string) => parse(text).tokens.filter((t) => t.kind !== 'newline' && t.kind !== 'comment');

describe.each(samples)('$file', ({ text }) => {
  it('with any one token left out', () => {
    for (const { span } of tokensOf(text)) {
      const broken = text.slice(0, span.start) + text.slice(span.end);
      const found = messages(broken);
      expect(
        found.length,
        `without "${text.slice(span.start, span.end)}" at ${span.start}:\n${found.join('\n')}`,
      ).toBeLessThanOrEqual(1);
    }
  });

  it('with any one token doubled', () => {
    for (const { span } of tokensOf(text)) {
      const broken = `${text.slice(0, span.end)} ${text.slice(span.start)}`;
      const found = messages(broken);
      expect(
        found.length,
        `with "${text.slice(span.start, span.end)}" twice at ${span.start}:\n${found.join('\n')}`,
      ).toBeLessThanOrEqual(1);
    }
  });

  it('cut off after any token: one message for each open block or parenthesis, and one for what is missing', () => {
    for (const { span } of tokensOf(text)) {
      const cut = text.slice(0, span.end);
      const found = parse(cut).problems;
      const unclosed = found.filter((p) => p.code === 'syntax/unclosed').length;
      expect(found.length - unclosed, found.map((p) => p.message).join('\n')).toBeLessThanOrEqual(1);
      expect(unclosed).toBeLessThanOrEqual(4);
    }
  });
});
