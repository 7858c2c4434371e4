/** Folders, settings, tasks, Markdown: what surrounds a rig file. */
import * as assert from 'node:assert/strict';
import * as vscode from 'vscode';
import { test } from './suite';
import { api, codeOf, file, noProblem, problem, rigText, until } from './support';

test('imports resolve beside the file in each of two folders', async () => {
  const part = (time: string): string => `let settle = ${time}\n`;
  const user = rigText('feeder')
    .replace('rig feeder', 'import "shared/times.rig"\nrig feeder')
    .replace('TOF(start, 1 s)', 'TOF(start, settle)');
  for (const folder of [0, 1]) {
    const root = vscode.workspace.workspaceFolders![folder]!.uri;
    const times = vscode.Uri.joinPath(root, 'shared/times.rig');
    await vscode.workspace.fs.writeFile(times, new TextEncoder().encode(part(folder === 0 ? '1 s' : '1.2 s')));
    const { document } = await file('importing.rig', user, folder);
    const definitions = await until('the imported constant', async () => {
      const place = document.positionAt(document.getText().indexOf('settle'));
      const found = await vscode.commands.executeCommand<(vscode.Location & vscode.LocationLink)[]>(
        'vscode.executeDefinitionProvider',
        document.uri,
        place,
      );
      return found?.length ? found : null;
    });
    const target = definitions[0]!.targetUri ?? definitions[0]!.uri;
    assert.equal(target.toString(), times.toString());
  }
});

test('a file name with spaces, accents and percent signs works', async () => {
  const { document } = await file('odd $name 100% über.rig', rigText('hasty'));
  await problem(document.uri, 'door/overlap');
});

test('problems go when a file is closed', async () => {
  const uri = vscode.Uri.joinPath(vscode.workspace.workspaceFolders![0]!.uri, 'passing.rig');
  await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(rigText('hasty')));
  // As a user opens it: a document opened by an extension stays open for minutes after its tab is gone.
  await vscode.commands.executeCommand('vscode.open', uri);
  await problem(uri, 'door/overlap');
  await vscode.commands.executeCommand('workbench.action.closeActiveEditor');
  await until('no problems', () => vscode.languages.getDiagnostics(uri).length === 0);
  await vscode.workspace.fs.delete(uri);
  assert.equal(vscode.languages.getDiagnostics(uri).length, 0);
});

test('a setting works without a restart', async () => {
  const { document } = await file('settings.rig', rigText('feeder'));
  const settings = vscode.workspace.getConfiguration('caisson');
  const lenses = async (): Promise<number> => {
    const found = await vscode.commands.executeCommand<vscode.CodeLens[]>(
      'vscode.executeCodeLensProvider',
      document.uri,
      9,
    );
    return found.length;
  };
  await until('a lens', async () => (await lenses()) > 0);
  await settings.update('codeLens.enable', false, vscode.ConfigurationTarget.Workspace);
  await until('no lens', async () => (await lenses()) === 0);
  await settings.update('codeLens.enable', undefined, vscode.ConfigurationTarget.Workspace);
  await until('a lens again', async () => (await lenses()) > 0);
});

test('the check task runs the command line and its findings become problems', async () => {
  const { document } = await file('task/hasty.rig', rigText('hasty'));
  await vscode.commands.executeCommand('workbench.action.closeAllEditors');
  const offered = await vscode.tasks.fetchTasks({ type: 'caisson' });
  assert.equal(offered.length, 2, 'one for each folder');
  const here = offered.find((task) => (task.scope as vscode.WorkspaceFolder).index === 0)!;
  const ended = new Promise<number | undefined>((resolve) => {
    const listening = vscode.tasks.onDidEndTaskProcess((event) => {
      listening.dispose();
      resolve(event.exitCode);
    });
  });
  await vscode.tasks.executeTask(here);
  assert.equal(await ended, 1);
  const found = await until('a problem of the task', () =>
    vscode.languages.getDiagnostics(document.uri).find((d) => codeOf(d) === 'door/overlap'),
  );
  assert.match(found.message, /upper/);
});

test('checking all files lists the problems of files that are not open', async () => {
  await vscode.commands.executeCommand('workbench.action.closeAllEditors');
  const root = vscode.workspace.workspaceFolders![1]!.uri;
  const uri = vscode.Uri.joinPath(root, 'closed.rig');
  await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(rigText('hasty')));
  await vscode.commands.executeCommand('caisson.checkAll');
  await problem(uri, 'door/overlap');
  await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(rigText('feeder')));
  await noProblem(uri, 'door/overlap');
});

test('checking all files lists the problems of what the test view has opened without a tab', async () => {
  await vscode.commands.executeCommand('workbench.action.closeAllEditors');
  const root = vscode.workspace.workspaceFolders![1]!.uri;
  const uris = [1, 2, 3, 4].map((k) => vscode.Uri.joinPath(root, `tested_${k}.rig`));
  for (const uri of uris) await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(rigText('hasty')));
  // As a run of all tests does it (`client/src/test-view.ts`).
  for (const uri of uris) await vscode.workspace.openTextDocument(uri);
  await vscode.commands.executeCommand('caisson.checkAll');
  for (const uri of uris) await problem(uri, 'door/overlap');
  // Opened again for a run, what was listed stays.
  for (const uri of uris) await vscode.workspace.openTextDocument(uri);
  for (const uri of uris) assert.ok(vscode.languages.getDiagnostics(uri).some((d) => codeOf(d) === 'door/overlap'));
  // A tab has live problems: each of them stands there once.
  await vscode.commands.executeCommand('vscode.open', uris[0]!);
  await until('live problems once', () => {
    const found = vscode.languages.getDiagnostics(uris[0]!).filter((d) => codeOf(d) === 'door/overlap');
    return found.length === 1;
  });
  for (const uri of uris) await vscode.workspace.fs.delete(uri);
});

test('a rig in Markdown is drawn in the Markdown preview', async () => {
  const source = '# Feeder\n\n```rig\n' + rigText('feeder') + '```\n\n```rig\nlet a = 1 s\n```\n';
  const html = await vscode.commands.executeCommand<string>('markdown.api.render', source);
  assert.equal(html.split('<figure class="caisson-rig">').length - 1, 1, 'the rig is drawn, the fragment is not');
  assert.match(html, /<svg/);
  assert.doesNotMatch(html, /<script/);
});

test('the facts are there for other extensions', async () => {
  const { document } = await file('facts.rig', rigText('feeder'));
  const facts = await until('facts', async () => (await api()).timing(document.uri.toString()));
  assert.match(JSON.stringify(facts), /"upper"/);
});

test('a rig is proved by command, within the editor', async () => {
  const { document } = await file('proved.rig', rigText('feeder'));
  await until('the server', async () => (await api()).serverStatus().kind === 'running');
  const answer = await until('an answer', async () =>
    vscode.commands.executeCommand<{ summary: string; report: string[] }>('caisson.prove', document.uri.toString()),
  );
  assert.match(answer.summary, /^feeder: \d+ proved, \d+ refuted, \d+ undecided/);
  assert.ok(answer.report.length > 0);
});
