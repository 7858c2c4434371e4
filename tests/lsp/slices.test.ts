/** One slow rig keeps nobody waiting: what needs no simulation is answered while it is computed, and what is given up ends at once. */
import { beforeAll, describe, expect, it } from 'vitest';
import { bundleServer } from './bundle';
import { PULL_CLIENT, spawnSession, type Session } from './session';
import { SOUND } from './texts';

let server = '';
beforeAll(async () => {
  server = await bundleServer();
});

/** Six sensors on a network that a pulse restarts every few milliseconds behind delays of hours: thousands of instants each. */
const SLOW = `rig slow {
  medium air { temperature 20 degC }
  controller { response 1 ms }
  chamber yard { volume 5 m3  pressure 3 bar }
  chamber shed { volume 1 m3  limit pressure 9 bar }
  door leaf { travel 50 ms  bore 30 mm  pocket 2 dm3 }
  stack yard > leaf > shed
${[1, 2, 3, 4, 5, 6].map((k) => `  sensor s${k} on yard { pressure above ${k} bar }`).join('\n')}
  switch hand = off
  signal run = s1 or s2 or s3 or s4 or s5 or s6
  signal w = TP(not w and run, 3 ms)
  signal v = TON(TOF(w, 1 h), 2 h)
  drive leaf = v or hand
  require repeat() >= 1 s
}
`;

const at = (text: string, word: string) => {
  const before = text.slice(0, text.indexOf(word)).split('\n');
  return { line: before.length - 1, character: before.at(-1)!.length + 1 };
};

describe('a slow rig', () => {
  const uri = 'file:///rigs/slow.rig';
  const other = 'file:///rigs/quick.rig';
  const textDocument = { uri };

  /** Asks, and notes in which order the answers come. */
  function asking(session: Session) {
    const order: string[] = [];
    const ask = async (name: string, method: string, params: object): Promise<unknown> => {
      const result = await session.ask(method, params).catch((error: { code: number }) => error.code);
      order.push(name);
      return result;
    };
    return { order, ask };
  }

  it('is computed while hovers, completions and another file are answered', async () => {
    const session = await spawnSession(process.execPath, [server, '--stdio'], { capabilities: PULL_CLIENT });
    const { order, ask } = asking(session);
    session.open(uri, SLOW);
    session.open(other, SOUND);
    const slow = [
      ask('problems', 'textDocument/diagnostic', { textDocument }),
      ask('lenses', 'textDocument/codeLens', { textDocument }),
      ask('hints', 'textDocument/inlayHint', {
        textDocument,
        range: { start: { line: 0, character: 0 }, end: { line: 20, character: 0 } },
      }),
      ask('door', 'textDocument/hover', { textDocument, position: at(SLOW, 'leaf { travel') }),
    ];
    const quick = await Promise.all([
      ask('word', 'textDocument/hover', { textDocument, position: at(SLOW, 'controller') }),
      ask('completion', 'textDocument/completion', { textDocument, position: at(SLOW, 'drive leaf') }),
      ask('names', 'textDocument/definition', { textDocument, position: at(SLOW, 'w and run') }),
      ask('other', 'textDocument/documentSymbol', { textDocument: { uri: other } }),
    ]);
    expect(quick.every((answer) => answer !== null && typeof answer === 'object')).toBe(true);
    // A hover on a door of the slow rig goes before its lenses and problems, and may be here already.
    expect(
      order
        .filter((name) => name !== 'door')
        .slice(0, 4)
        .sort(),
    ).toEqual(['completion', 'names', 'other', 'word']);
    expect(await Promise.all(slow)).not.toContain(null);
    await session.close();
  });

  it('is given up when its questions are cancelled or its text changes', async () => {
    const session = await spawnSession(process.execPath, [server, '--stdio'], { capabilities: PULL_CLIENT });
    const { order, ask } = asking(session);
    const document = session.open(uri, SLOW);
    const { CancellationTokenSource } = await import('vscode-languageserver/node');
    const source = new CancellationTokenSource();
    const cancelled = session.connection
      .sendRequest('textDocument/diagnostic', { textDocument }, source.token)
      .catch((error: { code: number }) => error.code)
      .finally(() => order.push('cancelled'));
    const overtaken = ask('overtaken', 'textDocument/codeLens', { textDocument });
    // Both are under way once something asked after them is answered.
    await ask('word', 'textDocument/hover', { textDocument, position: at(SLOW, 'controller') });
    source.cancel();
    session.edit(document, 0, SLOW.length, 'rig none {\n}\n');
    const after = ask('after', 'textDocument/codeLens', { textDocument });
    expect(await cancelled).toBe(-32800);
    expect(await overtaken).toBe(-32801);
    expect(await after).toEqual(expect.any(Array));
    expect(order[0]).toBe('word');
    await session.close();
  });
});
