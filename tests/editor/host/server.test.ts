/** The language server in the real editor: restart, failed start, crash. */
import * as assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import * as vscode from 'vscode';
import { test } from './suite';
import { api, file, noProblem, problem, replace, rigText, until } from './support';

const status = async (): Promise<string> => (await api()).serverStatus().kind;

test('restart brings the problems back', async () => {
  const editor = await file('restart.rig', rigText('hasty'));
  await problem(editor.document.uri, 'door/overlap');
  await vscode.commands.executeCommand('caisson.restartServer');
  assert.equal(await status(), 'running');
  await problem(editor.document.uri, 'door/overlap');
  await replace(editor, 'require repeat', 'require overlap(upper, middle) >= 0.5 s\n  require repeat');
  await noProblem(editor.document.uri, 'door/overlap');
});

test('a start that fails is told, and the next one works', async () => {
  const { document } = await file('failed-start.rig', rigText('hasty'));
  process.env['CAISSON_TEST_SERVER'] = '/nowhere/server.cjs';
  await vscode.commands.executeCommand('caisson.restartServer');
  delete process.env['CAISSON_TEST_SERVER'];
  assert.equal(await status(), 'failed');
  await vscode.commands.executeCommand('caisson.restartServer');
  assert.equal(await status(), 'running');
  await problem(document.uri, 'door/overlap');
});

test('several restarts at once leave one server running', async () => {
  await Promise.all([1, 2, 3].map(() => vscode.commands.executeCommand('caisson.restartServer')));
  assert.equal(await status(), 'running');
  await until('one server process', () => serverProcesses().length === 1);
});

test('a server that ends by itself is started again', async () => {
  const editor = await file(
    'crash.rig',
    rigText('hasty').replace('require repeat', 'require overlap(upper, middle) >= 0.5 s\n  require repeat'),
  );
  await until('a server process', () => serverProcesses().length === 1);
  // Killed while it is still starting it would be a failed start, which the user restarts.
  await until('an answering server', async () => (await outline(editor.document.uri)).length > 0);
  const [before] = serverProcesses();
  process.kill(before!, 'SIGKILL');
  await anotherServer(before!);
  await replace(editor, 'require overlap(upper, middle) >= 0.5 s', '');
  await problem(editor.document.uri, 'door/overlap');
});

test('a server that ends while messages are on their way to it is started again', async () => {
  const editor = await file('crash-busy.rig', rigText('hasty'));
  await until('a server process', () => serverProcesses().length === 1);
  await until('an answering server', async () => (await outline(editor.document.uri)).length > 0);
  const [before] = serverProcesses();
  process.kill(before!, 'SIGKILL');
  const asked = Array.from({ length: 12 }, () => outline(editor.document.uri));
  for (let i = 0; i < 12; i++) await editor.edit((edit) => edit.insert(new vscode.Position(0, 0), '# one more\n'));
  await anotherServer(before!);
  await Promise.allSettled(asked);
  await until('an answering server', async () => (await outline(editor.document.uri)).length > 0);
});

async function outline(uri: vscode.Uri): Promise<vscode.DocumentSymbol[]> {
  return (await vscode.commands.executeCommand('vscode.executeDocumentSymbolProvider', uri)) ?? [];
}

/** Waits for a server process other than `before`; where none comes, says what the extension believes. */
async function anotherServer(before: number): Promise<void> {
  await until('another server process', () => serverProcesses().some((pid) => pid !== before)).catch(async (error) => {
    const { kind } = (await api()).serverStatus();
    throw new Error(
      `${(error as Error).message}; server ${kind}, processes: ${serverProcesses().join(', ') || 'none'}`,
    );
  });
}

/** Processes of the language server started by this extension host. */
function serverProcesses(): number[] {
  const lines = execFileSync('ps', ['-o', 'pid=,args=', '--ppid', String(process.pid)], { encoding: 'utf8' }).split(
    '\n',
  );
  return lines.filter((line) => line.includes('caisson.js serve')).map((line) => Number(line.trim().split(/\s+/)[0]));
}
