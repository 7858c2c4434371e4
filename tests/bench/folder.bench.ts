/**
 * A folder of `FILES` rigs that import each other, all of them checked (`diagnostics.scope: workspace`), while one is open: how long
 * a hover and the names of the workspace wait, and the largest memory of the server. Beside it, in the same run, the same waits in a folder
 * of that one file, so that the machine's own load cancels out.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { bundleServer } from '../lsp/bundle';
import { PULL_CLIENT, spawnSession } from '../lsp/session';
import { SOUND } from '../lsp/texts';
import { median } from './texts';

const FILES = Number(process.env['FILES'] ?? 3_000);
const SECONDS = Number(process.env['SECONDS'] ?? 60);

function folderOf(count: number): string {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-folder-'));
  for (let i = 0; i < count; i++) {
    const link = i === 0 ? '' : `import "${(i * 7) % i}.rig"\n`;
    const text = `${link}let dwell_${i} = ${(i % 9) + 1} s\n${SOUND.replace(/rig (\w+)/, `rig $1_${i}`)}`;
    writeFileSync(join(folder, `${i}.rig`), text);
  }
  return folder;
}

/** MB that a process has held at most (Linux). */
const peakOf = (pid: number): number =>
  Number(/VmHWM:\s*(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? NaN) / 1024;

async function waits(server: string, count: number): Promise<void> {
  const folder = folderOf(count);
  const uriOf = (i: number): string => pathToFileURL(join(folder, `${i}.rig`)).href;
  const session = await spawnSession(process.execPath, [server, '--stdio'], {
    capabilities: PULL_CLIENT,
    initialize: { workspaceFolders: [{ uri: pathToFileURL(folder).href, name: 'folder' }] },
    settings: { diagnostics: { scope: 'workspace' } },
  });
  const uri = uriOf(count - 1);
  const document = session.open(uri, readFileSync(join(folder, `${count - 1}.rig`), 'utf8'));
  const began = performance.now();
  const timed = async (method: string, params: object): Promise<number> => {
    const start = performance.now();
    await session.ask(method, params);
    return performance.now() - start;
  };
  const names = timed('workspace/symbol', { query: 'dwell_7' });
  let reported = 0;
  const all = session
    .ask<{ items: unknown[] }>('workspace/diagnostic', { previousResultIds: [] })
    .then(({ items }) => (reported = items.length));
  const hovers: number[] = [];
  const at = document.positionAt(document.getText().indexOf('door ') + 6);
  while (reported === 0 && performance.now() - began < SECONDS * 1e3) {
    hovers.push(await timed('textDocument/hover', { textDocument: { uri }, position: at }));
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  const whole =
    reported > 0 ? `all reported after ${((performance.now() - began) / 1e3).toFixed(1)} s` : 'not yet all reported';
  const peak = peakOf(session.process.pid!);
  console.log(
    `${count} files: ${hovers.length} hovers, median ${median(hovers).toFixed(1)} ms, longest but the first ${Math.max(0, ...hovers.slice(1)).toFixed(1)} ms (first ${hovers[0]!.toFixed(0)} ms); ` +
      `names ${(await names).toFixed(0)} ms; at most ${peak.toFixed(0)} MB; ${whole} (wanted: a hover within 100 ms, under 400 MB)`,
  );
  session.process.kill();
  await all.catch(() => undefined);
  rmSync(folder, { recursive: true });
}

async function main(): Promise<void> {
  const server = await bundleServer();
  await waits(server, 1);
  await waits(server, FILES);
  process.exit(0);
}

void main();
