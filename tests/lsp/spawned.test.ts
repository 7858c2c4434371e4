/** The bundled server as a program on its standard streams. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { bundleServer } from './bundle';
import { PULL_CLIENT, spawnSession } from './session';
import { SOUND } from './texts';

let server = '';
beforeAll(async () => {
  server = await bundleServer();
});

const start = (options = {}) => spawnSession(process.execPath, [server, '--stdio'], options);

describe('the spawned server', () => {
  it('answers, publishes and ends when told to', async () => {
    const session = await start();
    expect(session.result.serverInfo!.version).toMatch(/^\d+\.\d+\.\d+/);
    const uri = 'file:///rigs/lock.rig';
    session.open(uri, SOUND.replace('dwell)', 'dwel)'));
    const { diagnostics } = await session.diagnostics(uri);
    const unknown = diagnostics.find((d) => d.code === 'name/unknown')!;
    expect(unknown.codeDescription?.href).toMatch(/REFERENCE\.md#name-unknown$/);
    const exit = once(session.process, 'exit');
    await session.close();
    expect((await exit)[0]).toBe(0);
  });

  it('reads imports from disk and checks the files of two folders', async () => {
    const root = mkdtempSync(join(tmpdir(), 'caisson folder ü-'));
    const folders = ['one', 'two'].map((name) => join(root, name));
    for (const folder of folders) mkdirSync(join(folder, 'node_modules'), { recursive: true });
    writeFileSync(join(folders[0]!, 'times.rig'), 'let dwell = 2 s\n');
    writeFileSync(join(folders[0]!, 'lock.rig'), `import "times.rig"\n${SOUND.replace(/^ {2}let dwell.*\n/m, '')}`);
    writeFileSync(join(folders[1]!, 'broken.rig'), 'rig r {\n  door }\n');
    writeFileSync(join(folders[1]!, 'node_modules', 'skipped.rig'), 'rig r {\n  door }\n');
    const session = await start({
      capabilities: PULL_CLIENT,
      settings: { diagnostics: { scope: 'workspace' } },
      initialize: { workspaceFolders: folders.map((f, i) => ({ uri: pathToFileURL(f).href, name: String(i) })) },
    });
    interface Report {
      items: { uri: string; items: { code: string; severity: number }[] }[];
    }
    const report = await session.ask<Report>('workspace/diagnostic', { previousResultIds: [] });
    const errors = report.items.map((i) => [
      decodeURI(i.uri).split('/').slice(-2).join('/'),
      i.items.filter((d) => d.severity === 1).length > 0,
    ]);
    expect(errors.sort()).toEqual([
      ['one/lock.rig', false],
      ['one/times.rig', false],
      ['two/broken.rig', true],
    ]);
    await session.close();
  });

  it('ends by itself when its input closes', async () => {
    const session = await start();
    const exit = once(session.process, 'exit');
    session.process.stdin!.end();
    expect(await exit).toBeDefined();
  });

  it('ends by itself when the editor dies', async () => {
    const editor = spawn(process.execPath, ['-e', 'setInterval(() => {}, 1000)']);
    const session = await start({ initialize: { processId: editor.pid! } });
    const exit = once(session.process, 'exit');
    editor.kill('SIGKILL');
    expect(await exit).toBeDefined();
  });

  it('writes nothing but messages to standard output, and survives a message that is none', async () => {
    const child = spawn(process.execPath, [server, '--stdio'], { stdio: ['pipe', 'pipe', 'pipe'] });
    const out: Buffer[] = [];
    // The last answer is waited for: a program that is told to exit may drop what is not sent yet.
    const answered = new Promise<void>((resolve) => {
      child.stdout.on('data', (chunk: Buffer) => {
        out.push(chunk);
        if (Buffer.concat(out).includes('"id":3')) resolve();
      });
    });
    const send = (message: object): void => {
      const body = JSON.stringify({ jsonrpc: '2.0', ...message });
      child.stdin.write(`Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`);
    };
    child.stdin.write('Content-Length: 5\r\n\r\n{bad}');
    send({ id: 1, method: 'initialize', params: { processId: null, rootUri: null, capabilities: {} } });
    send({ method: 'initialized', params: {} });
    send({ id: 2, method: 'no/such/request', params: {} });
    send({ id: 3, method: 'shutdown' });
    await answered;
    send({ method: 'exit' });
    await once(child, 'exit');
    let rest = Buffer.concat(out);
    const ids: unknown[] = [];
    while (rest.length > 0) {
      const head = /^Content-Length: (\d+)\r\n\r\n/.exec(rest.toString('latin1'));
      expect(head, `not a message: ${rest.toString('utf8').slice(0, 80)}`).not.toBeNull();
      const from = head![0].length;
      const length = Number(head![1]);
      ids.push((JSON.parse(rest.subarray(from, from + length).toString('utf8')) as { id?: unknown }).id);
      rest = rest.subarray(from + length);
    }
    expect(ids).toEqual(expect.arrayContaining([1, 2, 3]));
  });
});
