/** Writing the report from the editor: what the command line is asked, by a fake editor over the real program. */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { URI } from 'vscode-uri';

const editor = vi.hoisted(() => ({
  messages: [] as string[],
  opened: [] as string[],
  target: null as unknown,
  proposed: '',
  document: null as { uri: unknown; isDirty: boolean; save: () => Promise<boolean> } | null,
  constants: {} as Record<string, unknown>,
}));
vi.mock('vscode', async () => {
  const { URI: Address, Utils } = await import('vscode-uri');
  const say = async (message: string, ...choices: string[]) => (editor.messages.push(message), choices[0]);
  return {
    l10n: (await import('./fake-l10n')).l10n,
    env: { openExternal: async (uri: unknown) => void editor.opened.push(String(uri)) },
    ProgressLocation: { Notification: 15 },
    Uri: Object.assign(Address, { joinPath: Utils.joinPath }),
    window: {
      showSaveDialog: async ({ defaultUri }: { defaultUri: { path: string } }) => {
        editor.proposed = defaultUri.path;
        return editor.target ?? undefined;
      },
      showWarningMessage: say,
      showErrorMessage: say,
      showInformationMessage: say,
      withProgress: (_: unknown, run: (p: unknown, token: unknown) => unknown) =>
        run({}, { onCancellationRequested: () => undefined }),
    },
    workspace: {
      get textDocuments() {
        return editor.document ? [editor.document] : [];
      },
      getConfiguration: () => ({ get: () => editor.constants }),
    },
  };
});
const { writeReport } = await import('../../client/src/report');

const PROGRAM = join(__dirname, '../../dist/caisson.js');
const folder = mkdtempSync(join(tmpdir(), 'caisson-report-'));
const file = URI.file(join(folder, 'lift.rig'));
const page = URI.file(join(folder, 'out.html'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const RIG = `let wait = 700 ms
rig lift "Lift" {
  medium air
  chamber a { volume 2 m3  pressure 3 bar }
  chamber b { volume 1 m3 }
  door gate { pocket 20 L  travel 200 ms }
  stack a > gate > b
  controller { response 20 ms }
  sensor full on a { pressure above 2 bar }
  signal open = TON(full, wait)
  drive gate = open
}
`;

type Needs = Parameters<typeof writeReport>[0];
const needs = (run?: (words: readonly string[]) => Promise<{ code: number; error: string }>): Needs =>
  ({
    log: { warn: () => undefined },
    platform: {
      commandLine: {
        run:
          run ??
          (async (words: readonly string[], cwd: string) => {
            const { status, stderr } = spawnSync(process.execPath, [PROGRAM, ...words], { cwd, encoding: 'utf8' });
            return { code: status ?? 1, error: stderr };
          }),
      },
    },
  }) as unknown as Needs;

describe('the report from the editor', () => {
  beforeEach(() => {
    writeFileSync(file.fsPath, RIG);
    rmSync(page.fsPath, { force: true });
    Object.assign(editor, { messages: [], opened: [], target: page, document: null, constants: {} });
  });

  it('is written of the saved text, with the constants of the settings, and opened', { timeout: 60_000 }, async () => {
    const save = async () => (writeFileSync(file.fsPath, RIG.replace('"Lift"', '"Lift at the quay"')), true);
    editor.document = { uri: file, isDirty: true, save };
    editor.constants = { wait: '1200 ms', other: 7 };
    await writeReport(needs(), file, 'lift');
    expect(editor.messages).toEqual(['Wrote out.html.']);
    expect(editor.opened).toEqual([page.toString()]);
    expect(editor.proposed).toBe(join(folder, 'lift-report.html'));
    const html = readFileSync(page.fsPath, 'utf8');
    expect(html.includes('Lift at the quay')).toBe(true);
    expect(html.includes('TON 1.2 s')).toBe(true);
  });

  it('says in one line why there is none', { timeout: 60_000 }, async () => {
    writeFileSync(file.fsPath, RIG.replace('drive gate = open', 'drive gate = opne'));
    await writeReport(needs(), file, 'lift');
    expect(editor.messages).toHaveLength(1);
    expect(editor.messages[0]).toMatch(/^No report: /);
    expect(existsSync(page.fsPath)).toBe(false);
  });

  it.each([
    ['no place is chosen', { target: null }, file, []],
    ['the rig is no file', {}, URI.parse('untitled:a.rig'), [/save the rig as one first/]],
    ['the place is elsewhere', { target: URI.parse('vscode-vfs://github/a.html') }, file, [/to this machine only/]],
    [
      'the text cannot be saved',
      { document: { uri: file, isDirty: true, save: async () => false } },
      file,
      [/lift\.rig could not be saved; no report/],
    ],
  ])('does nothing where %s', async (_, given, uri, said) => {
    Object.assign(editor, given);
    const run = vi.fn();
    await writeReport(needs(run), uri as never, null);
    expect(run).not.toHaveBeenCalled();
    expect(editor.messages).toHaveLength(said.length);
    said.forEach((words, k) => expect(editor.messages[k]).toMatch(words));
  });

  it('says where there is no command line, and what a program that does not start gives', async () => {
    await writeReport({ ...needs(), platform: { commandLine: null } as never }, file, null);
    await writeReport(
      needs(() => Promise.reject(new Error('spawn node ENOENT'))),
      file,
      null,
    );
    expect(editor.messages[0]).toMatch(/does not run in a browser/);
    expect(editor.messages[1]).toBe('spawn node ENOENT');
  });
});
