/**
 * Every request against half-typed texts: samples are cut at tokens, as if typed from top to bottom, and tokens are also taken out of
 * the middle. Samples say much the same in the same words, so a text is cut where its last four tokens have not stood in a row in a
 * shorter text, and at some places of its own besides; the sound ones at each token with EVERY_CUT set. No request may answer with
 * an error, and nothing may be logged.
 */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import type { Token } from '../../grammar/src/ast';
import { askEverything } from './ask-everything';
import type { Session } from './session';
import { startSession } from './session';
import { SOUND } from './texts';

const EVERY_CUT = process.env['EVERY_CUT'] !== undefined;
const SAMPLES = join(__dirname, '../../samples');

function sampleTexts(): [string, string][] {
  const found: [string, string][] = [['parcel lock', SOUND]];
  const walk = (folder: string): void => {
    for (const name of readdirSync(folder).sort()) {
      const path = join(folder, name);
      if (statSync(path).isDirectory()) walk(path);
      else if (name.endsWith('.rig')) found.push([path.slice(SAMPLES.length + 1), readFileSync(path, 'utf8')]);
    }
  };
  walk(SAMPLES);
  // Words are met in the shortest text that has them: what is worked out of it takes least.
  return found.sort(([, a], [, b]) => a.length - b.length);
}

/** Tokens whose text the user chooses count as one another. */
const CHOSEN: ReadonlySet<string> = new Set(['name', 'number', 'string', 'comment', 'unknown']);
const wordOf = ({ kind, text }: Token): string => (CHOSEN.has(kind) ? kind : text);

/** Tokens with so many before them and behind them, told apart by `of`, that no text before has had in a row. */
class News {
  private readonly seen = new Set<string>();
  constructor(
    private readonly before: number,
    private readonly after: number,
    private readonly of: (token: Token) => string,
  ) {}

  in(tokens: readonly Token[]): number[] {
    return [...tokens.keys()].filter((i) => {
      const row = tokens.slice(Math.max(0, i - this.before), i + 1 + this.after).map(this.of);
      const size = this.seen.size;
      return this.seen.add(row.join(' ')).size > size;
    });
  }
}

/** Places of a text's own, wherever its words have stood before. */
const OWN = 4;
const spread = (count: number, of: number): number[] =>
  Array.from({ length: count }, (_, k) => Math.round(((k + 1) / count) * of) - 1);

/** The texts with the tokens behind which each is cut, and those that are taken out of it. */
function cuts(): [name: string, cuts: { text: string; tokens: readonly Token[]; ends: number[]; gaps: number[] }][] {
  const ends = new News(3, 0, wordOf);
  const gaps = new News(1, 1, ({ kind }) => kind);
  return sampleTexts().map(([name, text]) => {
    const { tokens } = parse(text);
    const fresh = ends.in(tokens);
    const all =
      EVERY_CUT && !name.startsWith('broken') ? [...tokens.keys()] : [...fresh, ...spread(OWN, tokens.length)];
    const sorted = [...new Set(all)].sort((a, b) => a - b);
    return [name, { text, tokens, ends: sorted, gaps: gaps.in(tokens) }];
  });
}

let session: Session;
beforeAll(async () => {
  session = await startSession();
});
afterAll(async () => session.close());

describe.each(cuts())('%s, half typed', (name, { text, tokens, ends, gaps }) => {
  it('answers every request at every cut', async () => {
    const uri = `file:///half/${encodeURIComponent(name)}`;
    const document = session.open(uri, text);
    let current = text;
    const replaceAll = (next: string): void => {
      session.edit(document, 0, current.length, next);
      current = next;
    };
    for (const i of ends) {
      replaceAll(text.slice(0, tokens[i]!.span.end));
      await askEverything(session, uri, current, current.length);
    }
    for (const i of gaps) {
      const { start, end } = tokens[i]!.span;
      replaceAll(text.slice(0, start) + text.slice(end));
      await askEverything(session, uri, current, start);
    }
    expect(session.logged).toEqual([]);
    void session.connection.sendNotification('textDocument/didClose', { textDocument: { uri } });
  }, 600_000);
});
