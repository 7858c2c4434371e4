/** Our own messages: preview, requirements as tests, commands; and quick fixes as edits of the protocol. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import type { CodeAction, WorkspaceEdit } from 'vscode-languageserver/node';
import { TextDocument } from 'vscode-languageserver-textdocument';
import type { TestsResult } from '../../server/protocol/messages';
import type { PreviewAnswer } from '../../server/protocol/preview';
import type { TimingJson } from '../../server/core/report/timing-json';
import type { Session, SessionOptions } from './session';
import { startSession } from './session';
import { SOUND } from './texts';

const URI = 'file:///rigs/lock.rig';
let session: Session;

async function opened(text: string, options: SessionOptions = {}): Promise<TextDocument> {
  session = await startSession(options);
  return session.open(URI, text);
}

afterEach(async () => {
  expect(session.logged).toEqual([]);
  await session.close();
});

describe('preview', () => {
  it('has every picture of a sound rig, with its caution', async () => {
    await opened(SOUND);
    const answer = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    expect(answer).toMatchObject({ version: 1, banner: null });
    const [rig] = answer.rigs!;
    expect(rig!.id).toBe('parcel_lock');
    expect(rig!.timing).toHaveLength(1);
    expect(rig!.section).toBeTruthy();
    expect(rig!.wiring).toBeTruthy();
    expect(rig!.caution).toMatch(/injure and kill/);
  });

  it('of a broken text is a banner with its line, and comes back with the first sound version', async () => {
    const document = await opened(SOUND);
    const at = SOUND.indexOf('TP(');
    session.edit(document, at, at + 3, 'TP((');
    const broken = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    const line = SOUND.slice(0, at).split('\n').length;
    expect(broken).toMatchObject({ version: 2, rigs: null, banner: { severity: 'error', line } });
    session.edit(document, at, at + 4, 'TP(');
    expect((await session.ask<PreviewAnswer>('caisson/preview', { uri: URI })).rigs).toHaveLength(1);
  });

  it('findings about a sound rig do not hide it', async () => {
    await opened(SOUND.replace('>= 100 ms', '>= 10 s'));
    expect((await session.ask<PreviewAnswer>('caisson/preview', { uri: URI })).rigs).toHaveLength(1);
  });

  it('says so where there is no rig', async () => {
    await opened('let a = 1 s\n');
    const answer = await session.ask<PreviewAnswer>('caisson/preview', { uri: URI });
    expect(answer).toMatchObject({ rigs: [], banner: { severity: 'information' } });
  });

  it('changes are told with each edit, also to those who import the file', async () => {
    const document = await opened(SOUND);
    await session.diagnostics(URI);
    session.edit(document, 0, 0, '# note\n');
    await session.diagnostics(URI, (p) => p.version === 2);
    const told = session.notified.filter((n) => n.method === 'caisson/previewChanged').map((n) => n.params);
    expect(told).toContainEqual({ uri: URI, version: 2 });
  });
});

describe('requirements as tests', () => {
  it('carry expected, actual and places', async () => {
    await opened(SOUND.replace('>= 100 ms', '>= 10 s'));
    const { version, rigs } = await session.ask<TestsResult>('rig/tests', { uri: URI });
    expect(version).toBe(1);
    const [overlap, repeat] = rigs[0]!.requirements;
    // inner fully open 0.5–2.1 s, outer from 1.6 s
    expect(overlap).toMatchObject({ verdict: 'failed', message: expect.stringContaining('it is 500 ms') as string });
    expect(overlap!.related.length).toBeGreaterThan(0);
    expect(repeat).toMatchObject({ verdict: 'met' });
  });
});

describe('commands', () => {
  const run = <T>(command: string, ...args: unknown[]): Promise<T> =>
    session.ask('workspace/executeCommand', { command, arguments: args });

  it('give timing as data and diagrams as SVG', async () => {
    await opened(SOUND);
    const [timing] = await run<TimingJson[]>('caisson.timing', URI);
    // hold goes off 12 s after inner_on ends (2.1 s) and a response later; start and inner_on answer once each: 14.15 s later
    expect(timing!.triggers[0]).toMatchObject({ sensor: 'full', repeat: 14.15 });
    const svg = await run<string>('caisson.diagram', URI, 'parcel_lock', 'dark');
    expect(svg).toMatch(/^<svg[\s\S]*<\/svg>\s*$/);
    expect(await run<string>('caisson.diagram', URI, 'parcel_lock', 'light')).not.toBe(svg);
  });

  it('refuse with a reason', async () => {
    await opened(SOUND);
    await expect(run('caisson.timing')).rejects.toThrow('takes the URI');
    await expect(run('caisson.timing', 'file:///nowhere.rig')).rejects.toThrow('There is no document');
    await expect(run('caisson.diagram', URI, 'other')).rejects.toThrow('There is no rig other');
    await expect(run('caisson.explode', URI)).rejects.toThrow('There is no command');
  });
});

/** A document with an edit of the protocol taken. */
function applied(document: TextDocument, edit: WorkspaceEdit): string {
  const [change] = edit.documentChanges as unknown as { textDocument: { version: number }; edits: never[] }[];
  expect(change!.textDocument.version).toBe(document.version);
  return TextDocument.applyEdits(document, change!.edits);
}

describe('quick fixes', () => {
  const actions = (document: TextDocument, part: string, only?: string[]): Promise<CodeAction[]> => {
    const at = document.positionAt(document.getText().indexOf(part));
    const textDocument = { uri: URI };
    return session.ask('textDocument/codeAction', {
      textDocument,
      range: { start: at, end: at },
      context: { diagnostics: [], only },
    });
  };

  it('rename to the near match, with the version they were made for', async () => {
    const document = await opened(SOUND.replace('dwell)', 'dwel)'));
    const [fix] = await actions(document, 'dwel)');
    expect(fix).toMatchObject({ kind: 'quickfix', isPreferred: true });
    expect(fix!.diagnostics![0]!.code).toBe('name/unknown');
    expect(applied(document, fix!.edit!)).toBe(SOUND);
  });

  it('offer several ways out of an unstated overlap, each of which removes it', async () => {
    const text = readFileSync(join(__dirname, '../../samples/broken/door-overlap.rig'), 'utf8');
    const document = await opened(text);
    const { diagnostics } = await session.diagnostics(URI);
    const overlap = diagnostics.find((d) => d.code === 'door/overlap')!;
    expect(overlap.relatedInformation!.length).toBeGreaterThan(0);
    const textDocument = { uri: URI };
    const found = await session.ask<CodeAction[]>('textDocument/codeAction', {
      textDocument,
      range: overlap.range,
      context: { diagnostics: [overlap] },
    });
    const ways = found.filter((a) => a.diagnostics![0]!.code === 'door/overlap');
    expect(ways.length).toBeGreaterThanOrEqual(2);
    const stated = ways.find((a) => applied(document, a.edit!).includes('require overlap('));
    expect(stated, ways.map((w) => w.title).join('; ')).toBeDefined();
    session.edit(document, 0, document.getText().length, applied(document, stated!.edit!));
    const after = await session.diagnostics(URI, (p) => p.version === 2);
    expect(after.diagnostics.map((d) => d.code)).not.toContain('door/overlap');
  });

  it('source.fixAll takes all preferred ones and only when asked for', async () => {
    const document = await opened(
      SOUND.replace('dwell)', 'dwel)').replace('drive outer = outer_on', 'drive outer = outr_on'),
    );
    expect((await actions(document, 'dwel)')).every((a) => a.kind === 'quickfix')).toBe(true);
    const [all] = await actions(document, 'dwel)', ['source.fixAll']);
    expect(all!.kind).toBe('source.fixAll.caisson');
    expect(applied(document, all!.edit!)).toBe(SOUND);
  });
});
