/**
 * Names that every object of the language we write in has, and halves of surrogate pairs, in the place of each kind of token of a
 * rig and inside it: no request fails, nothing is logged, and the diagnostics of the version come. ODD_TEXTS sets how many places
 * of each are tried (12 by default).
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from '../../grammar/src/api';
import { integer, seeded } from '../support/random';
import { askEverything } from './ask-everything';
import type { Session } from './session';
import { startSession } from './session';
import { SOUND } from './texts';

const PLACES = Number(process.env['ODD_TEXTS'] ?? 6);
/** Every block that has words of its own, and a path. */
const TEXT = `import "other.rig"
${SOUND.replace(/\}\s*$/, '')}
  feed chute into hall { rate 0.5 kg/s  only below 1.4 bar }
  switch byhand = off
  door side { pocket 60 L  travel 400 ms }
  stack hall > side > lobby
  sequence plan on byhand {
    at 0 s  open side
    at 2 s  close side
  }
  scenario day {
    at 0 s  feed chute on
    at 2 s  switch run off
    for 1 h
  }
}
`;
const ODD = [
  '__proto__',
  'constructor',
  'toString',
  'hasOwnProperty',
  'valueOf',
  '__proto__ { ',
  '"constructor"',
  'toString(',
  '\ud83d',
  '\ude00',
  'a\ude00b',
  '"\ud83d"',
];

let session: Session;
beforeAll(async () => {
  session = await startSession();
});
afterAll(async () => session.close());

describe.each(ODD)('%j', (odd) => {
  it('breaks no request, wherever it stands', async () => {
    const random = seeded(1 + ODD.indexOf(odd));
    const uri = `file:///odd/${ODD.indexOf(odd)}.rig`;
    const document = session.open(uri, TEXT);
    const { tokens } = parse(TEXT);
    const keywords = tokens.filter((t) => TEXT[t.span.end + 1] === '{' || t.kind === 'string' || t.kind === 'word');
    let current = TEXT;
    for (let k = 0; k < PLACES; k++) {
      const among = k % 2 === 0 ? tokens : keywords;
      const { start, end } = among[integer(random, 0, among.length - 1)]!.span;
      // In the place of a token, before one, or inside one.
      const [from, to] = [
        [start, end],
        [start, start],
        [start + 1, start + 1],
      ][k % 3]!;
      const next = TEXT.slice(0, from) + odd + TEXT.slice(to);
      session.edit(document, 0, current.length, next);
      current = next;
      const inside = from! + integer(random, 0, odd.length);
      await askEverything(session, uri, current, inside, odd);
      const { version } = document;
      await session.diagnostics(uri, (p) => p.version === version);
    }
    expect(session.logged).toEqual([]);
    void session.connection.sendNotification('textDocument/didClose', { textDocument: { uri } });
  }, 300_000);
});

describe('requests with odd words', () => {
  it.each(ODD)('name files and commands by %j', async (odd) => {
    const uri = `file:///odd/${odd}.rig`;
    for (const [method, params] of [
      ['textDocument/hover', { textDocument: { uri }, position: { line: 0, character: 0 } }],
      ['textDocument/documentSymbol', { textDocument: { uri } }],
      ['workspace/symbol', { query: odd }],
    ] as const)
      await session.ask(method, params);
    await expect(
      session
        .ask('workspace/executeCommand', { command: odd, arguments: [odd] })
        .catch((e: { code: number }) => e.code),
    ).resolves.toSatisfy((answer: unknown) => answer === null || typeof answer === 'number');
    expect(session.logged).toEqual([]);
  });
});
