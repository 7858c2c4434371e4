/** The language server as the extension asks it: started by the first question, answers or null, listeners over restarts. */
import { beforeEach, describe, expect, it, vi } from 'vitest';

const shown = vi.hoisted(() => ({ errors: [] as string[] }));
vi.mock('vscode', async () => ({
  l10n: (await import('./fake-l10n')).l10n,
  window: { showErrorMessage: async (message: string) => void shown.errors.push(message) },
  languages: { createLanguageStatusItem: () => ({ dispose: () => undefined }) },
  LanguageStatusSeverity: { Error: 2, Information: 0 },
}));
vi.mock('vscode-languageclient', () => ({ State: { StartFailed: 4 } }));
vi.mock('../../client/src/client-options', () => ({ clientOptions: () => ({}) }));
vi.mock('../../client/src/file-requests', () => ({ answerFileRequests: () => undefined }));
const { createServer } = await import('../../client/src/server');

type Context = Parameters<typeof createServer>[0];

/** A language client that answers by `answer`, and what it was sent. */
function fakeClient(answer: (method: string) => unknown, start: () => Promise<void> = async () => undefined) {
  const sent: unknown[][] = [];
  const listeners = new Map<string, (params: unknown) => void>();
  return {
    sent,
    listeners,
    start,
    stop: async () => undefined,
    dispose: async () => undefined,
    onDidChangeState: () => undefined,
    onNotification: (method: string, listener: (params: unknown) => void) => void listeners.set(method, listener),
    sendRequest: async (...given: unknown[]) => (sent.push(given), answer(String(given[0]))),
  };
}

function serverOver(clients: ReturnType<typeof fakeClient>[]) {
  const lines: string[] = [];
  const log = { info: (line: string) => lines.push(line), warn: (line: string) => lines.push(`warn ${line}`) };
  const waiting = [...clients];
  const platform = { createClient: () => waiting.shift()! };
  const server = createServer({ platform, log, version: '1', extensionUri: {} } as unknown as Context);
  return { server, lines, left: () => waiting.length };
}

describe('a question to the language server', () => {
  beforeEach(() => void (shown.errors.length = 0));

  it('starts it, once for questions that come together, and gives its answers', async () => {
    const client = fakeClient((method) => `${method}!`);
    const { server, left } = serverOver([client, fakeClient(() => null)]);
    const answers = await Promise.all([server.ask('a', { x: 1 }), server.ask('b', 2)]);
    expect(answers).toEqual(['a!', 'b!']);
    expect(left()).toBe(1);
    // No third argument where nothing can be cancelled: it would be sent as a parameter.
    expect(client.sent).toEqual([
      ['a', { x: 1 }],
      ['b', 2],
    ]);
  });

  it('hands on what cancels it', async () => {
    const client = fakeClient(() => null);
    const { server } = serverOver([client]);
    const token = { isCancellationRequested: false } as never;
    expect(await server.ask('a', null, token)).toBeNull();
    expect(client.sent[0]![2]).toBe(token);
  });

  it('is null where the answer is an error, which the log has', async () => {
    const { server, lines } = serverOver([
      fakeClient(() => {
        throw new Error('no such rig\n  at line 3');
      }),
    ]);
    expect(await server.ask('caisson/sheet', {})).toBeNull();
    expect(lines.at(-1)).toBe('warn caisson/sheet: no such rig');
    expect(server.status.kind).toBe('running');
  });

  it('is null where it does not start, which is said once; later questions do not start it again', async () => {
    const broken = fakeClient(
      () => 1,
      () => Promise.reject(new Error('no such module')),
    );
    const { server, left } = serverOver([broken, fakeClient(() => 1)]);
    expect(await Promise.all([server.ask('a', 1), server.ask('b', 1)])).toEqual([null, null]);
    expect(await server.ask('c', 1)).toBeNull();
    expect(broken.sent).toEqual([]);
    expect(left()).toBe(1);
    expect(shown.errors).toEqual(['The language server for rig files stopped: no such module.']);
    await server.restart();
    expect(await server.ask('d', 1)).toBe(1);
  });

  it('waits for a restart that is under way', async () => {
    const second = fakeClient(() => 'second');
    const { server } = serverOver([fakeClient(() => 'first'), second]);
    await server.start();
    const restarted = server.restart();
    expect(await server.ask('a', 1)).toBe('second');
    await restarted;
  });

  it('keeps its listeners over restarts, also those that came while it ran', async () => {
    const [first, second] = [fakeClient(() => null), fakeClient(() => null)];
    const { server } = serverOver([first, second]);
    const heard: unknown[] = [];
    const started: string[] = [];
    server.listen('before', (params) => heard.push(params));
    server.onStarted(() => started.push(server.status.kind));
    await server.start();
    server.listen('while', (params) => heard.push(params));
    first.listeners.get('while')!(1);
    await server.restart();
    second.listeners.get('before')!(2);
    second.listeners.get('while')!(3);
    expect(heard).toEqual([1, 2, 3]);
    expect(started).toEqual(['running', 'running']);
  });
});
