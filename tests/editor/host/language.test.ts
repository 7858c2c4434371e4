/** What the language features do in the real editor. */
import * as assert from 'node:assert/strict';
import * as vscode from 'vscode';
import { test } from './suite';
import { at, completions, noProblem, problem, replace, rigText, text, type, untitled, until } from './support';

test('an untitled rig has its problems marked, and they go when mended', async () => {
  const editor = await untitled(rigText('hasty'));
  const found = await problem(editor.document.uri, 'door/overlap');
  assert.match(found.message, /upper/);
  assert.match(found.message, /middle/);
  assert.ok(found.relatedInformation && found.relatedInformation.length > 0, 'names the places that cause it');
  await replace(editor, 'require repeat', 'require overlap(upper, middle) >= 0.5 s\n  require repeat');
  await noProblem(editor.document.uri, 'door/overlap');
});

test('a sound rig has no problem', async () => {
  const editor = await untitled(rigText('feeder'));
  await until('the hover', async () => text(await hover(editor, at(editor.document, 'drive upper', 7))));
  await new Promise((resolve) => setTimeout(resolve, 500));
  const found = vscode.languages.getDiagnostics(editor.document.uri).map((d) => `${d.severity} ${d.message}`);
  assert.deepEqual(found, []);
});

test('half-typed text has one problem at the right place', async () => {
  const editor = await untitled(rigText('broken'));
  const found = await until('a problem', () => vscode.languages.getDiagnostics(editor.document.uri)[0]);
  assert.equal(editor.document.lineAt(found.range.start.line).text.trim(), 'signal hold     = TOF(upper_on,');
});

test('hovering over a door shows its times', async () => {
  const editor = await untitled(rigText('feeder'));
  const shown = await until('times in the hover', async () => {
    const found = text(await hover(editor, at(editor.document, 'door upper', 5)));
    return /\d s|\d ms/.test(found) && found;
  });
  assert.match(shown, /opens/i);
});

test('after `drive` doors and lines are offered, and no sensor', async () => {
  const editor = await untitled(rigText('feeder'));
  const place = at(editor.document, 'drive upper', 0);
  await type(editor, place, 'drive \n  ');
  const offered = await completions(editor, place.translate(0, 6));
  assert.ok(offered.includes('upper') && offered.includes('lower'), offered.join(', '));
  assert.ok(!offered.includes('ready'), offered.join(', '));
});

test('after a number units are offered', async () => {
  const editor = await untitled(rigText('feeder'));
  await replace(editor, 'TOF(start, 1 s)', 'TOF(start, 1 )');
  const offered = await completions(editor, at(editor.document, 'TOF(start, 1 )', 13));
  assert.ok(offered.includes('s') && offered.includes('ms'), offered.slice(0, 20).join(', '));
});

test('inside a timer its parameters are shown', async () => {
  const editor = await untitled(rigText('feeder'));
  const help = await vscode.commands.executeCommand<vscode.SignatureHelp>(
    'vscode.executeSignatureHelpProvider',
    editor.document.uri,
    at(editor.document, 'TOF(start, 1 s)', 11),
    '(',
  );
  assert.match(help.signatures[0]!.label, /TOF/);
  assert.equal(help.activeParameter, 1);
});

test('definition and references find each other', async () => {
  const editor = await untitled(rigText('feeder'));
  const use = at(editor.document, 'drive upper = upper_on', 15);
  const definitions = await vscode.commands.executeCommand<(vscode.Location | vscode.LocationLink)[]>(
    'vscode.executeDefinitionProvider',
    editor.document.uri,
    use,
  );
  const target = definitions[0]!;
  const line = 'targetRange' in target ? target.targetRange.start.line : target.range.start.line;
  assert.match(editor.document.lineAt(line).text, /signal upper_on/);
  const references = await vscode.commands.executeCommand<vscode.Location[]>(
    'vscode.executeReferenceProvider',
    editor.document.uri,
    use,
  );
  // Declared once; read in passing, in the inner TON, in hold and in the drive.
  assert.equal(references.length, 5);
});

test('renaming a door changes every place and nothing else', async () => {
  const editor = await untitled(rigText('feeder'));
  const before = editor.document.getText();
  const edit = await vscode.commands.executeCommand<vscode.WorkspaceEdit>(
    'vscode.executeDocumentRenameProvider',
    editor.document.uri,
    at(editor.document, 'door upper', 5),
    'inlet',
  );
  assert.ok(await vscode.workspace.applyEdit(edit));
  assert.equal(editor.document.getText(), before.replace(/\bupper\b/g, 'inlet'));
});

test('a keyword cannot be renamed, and says why', async () => {
  const editor = await untitled(rigText('feeder'));
  await assert.rejects(async () => {
    await vscode.commands.executeCommand('vscode.prepareRename', editor.document.uri, at(editor.document, 'chamber'));
  });
});

test('a quick fix for the overlap mends it', async () => {
  const editor = await untitled(rigText('hasty'));
  const found = await problem(editor.document.uri, 'door/overlap');
  const actions = await vscode.commands.executeCommand<vscode.CodeAction[]>(
    'vscode.executeCodeActionProvider',
    editor.document.uri,
    found.range,
    vscode.CodeActionKind.QuickFix.value,
    20,
  );
  const titles = actions.map((action) => action.title);
  assert.ok(actions.length >= 2, titles.join(' | '));
  const wanted = actions.find((action) => JSON.stringify([...(action.edit?.entries() ?? [])]).includes('overlap('));
  assert.ok(wanted?.edit, titles.join(' | '));
  assert.ok(await vscode.workspace.applyEdit(wanted.edit));
  assert.match(editor.document.getText(), /require overlap\(upper, middle\)/);
  await noProblem(editor.document.uri, 'door/overlap');
});

test('formatting is stable, keeps comments and the line ends of the document', async () => {
  const squashed = rigText('feeder')
    .replace(/ {2,}(?=\S)/g, ' ')
    .replace(/\n/g, '\r\n');
  const editor = await untitled(squashed);
  await vscode.commands.executeCommand('editor.action.formatDocument');
  const once = await until(
    'the formatted text',
    () => editor.document.getText() !== squashed && editor.document.getText(),
  );
  assert.match(once, /^# Air feeder of the bench/);
  assert.equal(once.replace(/\r\n/g, '').includes('\n'), false);
  await vscode.commands.executeCommand('editor.action.formatDocument');
  assert.equal(editor.document.getText(), once);
});

test('outline, folding and colours are there, also for broken text', async () => {
  for (const name of ['feeder', 'broken']) {
    const { uri } = (await untitled(rigText(name))).document;
    const symbols = await until('the outline', async () => {
      const found = await vscode.commands.executeCommand<vscode.DocumentSymbol[]>(
        'vscode.executeDocumentSymbolProvider',
        uri,
      );
      return found?.length ? found : null;
    });
    assert.equal(symbols[0]!.name, name);
    assert.ok(symbols[0]!.children.some((child) => child.name === 'upper'));
    const folding = await vscode.commands.executeCommand<vscode.FoldingRange[]>(
      'vscode.executeFoldingRangeProvider',
      uri,
    );
    assert.ok(folding.length > 0);
    const colours = await vscode.commands.executeCommand<vscode.SemanticTokens>(
      'vscode.provideDocumentSemanticTokens',
      uri,
    );
    assert.ok(colours.data.length > 0);
  }
});

test('cumulative times stand at the ends of lines, a lens above the rig', async () => {
  const { document } = await untitled(rigText('feeder'));
  const whole = new vscode.Range(0, 0, document.lineCount, 0);
  const hints = await until('inlay hints', async () => {
    const found = await vscode.commands.executeCommand<vscode.InlayHint[]>(
      'vscode.executeInlayHintProvider',
      document.uri,
      whole,
    );
    return found?.length ? found : null;
  });
  for (const hint of hints) assert.equal(hint.position.character, document.lineAt(hint.position.line).text.length);
  const lenses = await vscode.commands.executeCommand<vscode.CodeLens[]>(
    'vscode.executeCodeLensProvider',
    document.uri,
    10,
  );
  assert.equal(lenses[0]?.command?.command, 'caisson.openPreview');
});

test('names and places stay right beside characters of two code units', async () => {
  const { document } = await untitled(
    rigText('hasty').replace('"Hasty feeder"', '"Hasty 🜁 fé́eder"').replaceAll('middle', 'Schlüssel𝛼'),
  );
  const found = await problem(document.uri, 'door/overlap');
  assert.match(found.message, /Schlüssel𝛼/);
});

function hover(editor: vscode.TextEditor, place: vscode.Position): Thenable<vscode.Hover[]> {
  return vscode.commands.executeCommand<vscode.Hover[]>('vscode.executeHoverProvider', editor.document.uri, place);
}
