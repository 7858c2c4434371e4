/** What the tests in the extension host share: documents, waiting, places. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import * as vscode from 'vscode';
import type { Api } from '../../../client/src/activate-common';

/** `tests/editor/rigs`; the suite's bundle is told where by the runner. */
const RIGS = process.env.CAISSON_RIGS_FOLDER!;

export const rigText = (name: string): string => readFileSync(join(RIGS, `${name}.rig`), 'utf8');

export async function api(): Promise<Api> {
  return vscode.extensions.getExtension<Api>('caisson.caisson')!.activate();
}

/** An untitled rig document in an editor. */
export async function untitled(content: string): Promise<vscode.TextEditor> {
  const document = await vscode.workspace.openTextDocument({ language: 'rig', content });
  return vscode.window.showTextDocument(document);
}

/** Writes a file into a workspace folder and shows it. */
export async function file(path: string, content: string, folder = 0): Promise<vscode.TextEditor> {
  const uri = vscode.Uri.joinPath(vscode.workspace.workspaceFolders![folder]!.uri, path);
  await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(content));
  return vscode.window.showTextDocument(uri);
}

/** Waits until `probe` gives something; says what it waited for where it does not. */
export async function until<T>(
  what: string,
  probe: () => T | null | undefined | false | Promise<T | null | undefined | false>,
  ms = 20_000,
): Promise<T> {
  const end = Date.now() + ms;
  for (;;) {
    const value = await probe();
    if (value !== null && value !== undefined && value !== false) return value as T;
    if (Date.now() > end) throw new Error(`waited ${ms / 1000} s for ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 25));
  }
}

export const codeOf = (d: vscode.Diagnostic): string =>
  String(typeof d.code === 'object' && d.code !== null ? d.code.value : d.code);

/** The problems of a document once there is one with this code. */
export async function problem(uri: vscode.Uri, code: string): Promise<vscode.Diagnostic> {
  return until(`${code} in ${uri.path}`, () =>
    vscode.languages.getDiagnostics(uri).find((d) => codeOf(d) === code),
  ).catch((error) => {
    const there = vscode.languages.getDiagnostics(uri).map(codeOf).join(', ');
    throw new Error(`${(error as Error).message}; there: ${there || 'nothing'}`);
  });
}

export async function noProblem(uri: vscode.Uri, code: string): Promise<void> {
  await until(`no ${code}`, () => !vscode.languages.getDiagnostics(uri).some((d) => codeOf(d) === code));
}

/** Start of the `n`th occurrence (from 0) of a text, moved by `shift` characters. */
export function at(document: vscode.TextDocument, text: string, shift = 0, n = 0): vscode.Position {
  let offset = -1;
  for (let i = 0; i <= n; i++) offset = document.getText().indexOf(text, offset + 1);
  if (offset < 0) throw new Error(`no ${JSON.stringify(text)} in the document`);
  return document.positionAt(offset + shift);
}

export async function type(editor: vscode.TextEditor, place: vscode.Position, text: string): Promise<void> {
  await editor.edit((edit) => edit.insert(place, text));
}

export async function replace(editor: vscode.TextEditor, from: string, to: string): Promise<void> {
  const start = at(editor.document, from);
  const range = new vscode.Range(start, editor.document.positionAt(editor.document.offsetAt(start) + from.length));
  await editor.edit((edit) => edit.replace(range, to));
}

export const labelOf = (item: vscode.CompletionItem): string =>
  typeof item.label === 'string' ? item.label : item.label.label;

export async function completions(editor: vscode.TextEditor, place: vscode.Position): Promise<string[]> {
  const list = await vscode.commands.executeCommand<vscode.CompletionList>(
    'vscode.executeCompletionItemProvider',
    editor.document.uri,
    place,
  );
  return list.items.map(labelOf);
}

export function text(hover: readonly vscode.Hover[]): string {
  return hover
    .flatMap((h) => h.contents.map((c) => (typeof c === 'string' ? c : (c as vscode.MarkdownString).value)))
    .join('\n');
}
