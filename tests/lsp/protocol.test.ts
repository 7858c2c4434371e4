/** The order of a session, its end, and positions in the units that clients may ask for. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import * as fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { createText, encodingFor, textDocuments, type Encoding } from '../../server/lsp/encoded-text';
import { bundleServer } from './bundle';
import { FULL_CLIENT, startSession } from './session';
import { SOUND } from './texts';

let server = '';
beforeAll(async () => {
  server = await bundleServer();
});

interface Answer {
  readonly id?: number;
  readonly result?: unknown;
  readonly error?: { readonly code: number };
}

/** A raw session: sends messages as they are, waits for answers by number. */
function raw() {
  const child = spawn(process.execPath, [server, '--stdio'], { stdio: ['pipe', 'pipe', 'pipe'] });
  let buffer = Buffer.alloc(0);
  let err = '';
  const answers = new Map<number, Answer>();
  const waiting = new Map<number, (answer: Answer) => void>();
  child.stderr.on('data', (chunk: Buffer) => (err += chunk.toString()));
  child.stdin.on('error', () => undefined);
  child.stdout.on('data', (chunk: Buffer) => {
    buffer = Buffer.concat([buffer, chunk]);
    for (;;) {
      const head = /^Content-Length: (\d+)\r\n\r\n/.exec(buffer.toString('latin1'));
      if (!head || buffer.length < head[0].length + Number(head[1])) return;
      const end = head[0].length + Number(head[1]);
      const message = JSON.parse(buffer.subarray(head[0].length, end).toString()) as Answer;
      buffer = buffer.subarray(end);
      if (message.id === undefined) continue;
      answers.set(message.id, message);
      waiting.get(message.id)?.(message);
    }
  });
  const send = (message: object): void => {
    const body = JSON.stringify({ jsonrpc: '2.0', ...message });
    child.stdin.write(`Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`);
  };
  const ask = (id: number, method: string, params: object = {}): Promise<Answer> => {
    send({ id, method, params });
    return new Promise((resolve) => {
      const known = answers.get(id);
      if (known) resolve(known);
      else waiting.set(id, resolve);
    });
  };
  return { child, send, ask, err: () => err };
}
const INITIALIZE = { processId: null, rootUri: null, capabilities: {} };
const HOVER = { textDocument: { uri: 'file:///a.rig' }, position: { line: 0, character: 0 } };

describe('the order of a session', () => {
  it('requests before initialize and after shutdown get the errors of the protocol', async () => {
    const { ask, send, child } = raw();
    send({
      method: 'textDocument/didOpen',
      params: { textDocument: { uri: 'file:///a.rig', languageId: 'rig', version: 1, text: '' } },
    });
    expect((await ask(1, 'textDocument/hover', HOVER)).error?.code).toBe(-32002);
    expect((await ask(2, 'shutdown')).error?.code).toBe(-32002);
    expect((await ask(3, 'initialize', INITIALIZE)).error).toBeUndefined();
    expect((await ask(4, 'initialize', INITIALIZE)).error?.code).toBe(-32600);
    expect((await ask(5, 'textDocument/hover', HOVER)).result).toBeNull();
    expect((await ask(6, 'shutdown')).error).toBeUndefined();
    expect((await ask(7, 'textDocument/hover', HOVER)).error?.code).toBe(-32600);
    expect((await ask(8, 'no/such', {})).error?.code).toBe(-32600);
    send({ method: 'exit' });
    expect((await once(child, 'exit'))[0]).toBe(0);
  });

  it('exit without shutdown ends with 1, as the protocol wants', async () => {
    const { ask, send, child } = raw();
    await ask(1, 'initialize', INITIALIZE);
    send({ method: 'exit' });
    expect((await once(child, 'exit'))[0]).toBe(1);
  });

  it('a client that no longer reads ends the server quietly', async () => {
    const { ask, send, child, err } = raw();
    await ask(1, 'initialize', INITIALIZE);
    child.stdout.destroy();
    const ended = once(child, 'exit');
    const asking = setInterval(() => send({ id: 9, method: 'textDocument/hover', params: HOVER }), 20);
    const [code] = await ended;
    clearInterval(asking);
    expect(code).toBe(0);
    expect(err()).toBe('');
  });
});

describe('position encodings', () => {
  const ENCODINGS: readonly Encoding[] = ['utf-8', 'utf-16', 'utf-32'];
  const units = (text: string, encoding: Encoding): number =>
    encoding === 'utf-8' ? Buffer.byteLength(text) : encoding === 'utf-16' ? text.length : [...text].length;
  const texts = fc
    .array(fc.constantFrom('a', 'ü', '€', '😀', '\u0301', '\n', '\r\n', '\r', ' ', '中'), { maxLength: 40 })
    .map((parts) => parts.join(''));

  it.each([
    [undefined, 'utf-16'],
    [[], 'utf-16'],
    [['utf-16'], 'utf-16'],
    [['utf-8', 'utf-16'], 'utf-8'],
    [['utf-32'], 'utf-32'],
    [['utf-7', 'utf-32', 'utf-8'], 'utf-32'],
  ])('%j: %s', (offered, wanted) => expect(encodingFor(offered)).toBe(wanted));

  it('count what the encoding counts, and lead back', () =>
    fc.assert(
      fc.property(texts, fc.constantFrom(...ENCODINGS), fc.nat(), (content, encoding, at) => {
        const text = createText('file:///a.rig', 1, content, encoding);
        let offset = at % (content.length + 1);
        if (/[\uDC00-\uDFFF]/.test(content[offset] ?? '')) offset--;
        if (content[offset] === '\n' && content[offset - 1] === '\r') offset--;
        const { line, character } = text.positionAt(offset);
        const before = content.slice(0, offset).split(/\r\n|\r|\n/);
        expect(line).toBe(before.length - 1);
        expect(character).toBe(units(before[before.length - 1]!, encoding));
        expect(text.offsetAt({ line, character })).toBe(offset);
      }),
      { numRuns: 500 },
    ));

  it('changes arrive where they were made', () =>
    fc.assert(
      fc.property(
        texts,
        fc.constantFrom(...ENCODINGS),
        fc.array(fc.tuple(fc.nat(), fc.nat(9), texts), { maxLength: 5 }),
        (content, encoding, edits) => {
          const documents = textDocuments(() => encoding);
          let model = content;
          let document = documents.create('file:///a.rig', 'rig', 1, content);
          edits.forEach(([at, length, by], version) => {
            const mirror = createText('file:///a.rig', 1, model, encoding);
            const [start, end] = [at % (model.length + 1), Math.min(model.length, (at % (model.length + 1)) + length)];
            const range = { start: mirror.positionAt(start), end: mirror.positionAt(end) };
            const [from, to] = [mirror.offsetAt(range.start), mirror.offsetAt(range.end)];
            document = documents.update(document, [{ range, text: by }], version + 2);
            model = model.slice(0, from) + by + model.slice(to);
            expect(document.getText()).toBe(model);
          });
        },
      ),
    ));

  it.each(ENCODINGS)('%s: diagnostics, colours and edits of a line with signs of all lengths', async (encoding) => {
    const session = await startSession({
      capabilities: { ...FULL_CLIENT, general: { positionEncodings: [encoding] } },
    });
    expect(session.result.capabilities.positionEncoding).toBe(encoding);
    const uri = 'file:///rigs/lock.rig';
    const text = SOUND.replace(/rig (\w+)[^{]*\{/, 'rig $1 "ü € 😀" { switch grün = of  # 😀');
    session.open(uri, text);
    const { diagnostics } = await session.diagnostics(uri, (p) => p.diagnostics.length > 0);
    const line = text.split('\n').findIndex((l) => l.includes('grün'));
    const before = text.split('\n')[line]!.slice(0, text.split('\n')[line]!.indexOf('of  #'));
    expect(diagnostics.map((d) => d.range.start)).toContainEqual({ line, character: units(before, encoding) });
    const mirror = createText(uri, 1, text, encoding);
    const at = text.indexOf('of  #');
    await session.connection.sendNotification('textDocument/didChange', {
      textDocument: { uri, version: 2 },
      contentChanges: [{ range: { start: mirror.positionAt(at), end: mirror.positionAt(at + 2) }, text: 'off' }],
    });
    await session.diagnostics(uri, (p) => p.version === 2 && p.diagnostics.every((d) => d.severity !== 1));
    await session.close();
  });
});
