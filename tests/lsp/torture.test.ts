/**
 * The server as a program under random edits and requests: cancels out of order, files opened, closed, written and deleted, imports
 * of one another, odd names and halves of surrogate pairs, every position encoding, pushed and pulled diagnostics. Every request is
 * answered, nothing is logged or written to standard error, and what is reported at the end is what a fresh server reports.
 * TORTURE_STEPS sets the number of steps of each session (120 by default), TORTURE_SEED repeats one. With TORTURE_FIGURES set the
 * requests, seconds, longest wait of a hover and greatest memory are printed; the wait also as what the server's own thread did meanwhile,
 * which no other program on the machine lengthens.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { CancellationTokenSource } from 'vscode-languageserver/node';
import { integer, pick, seeded, type Random } from '../support/random';
import { bundleServer } from './bundle';
import { FULL_CLIENT, PULL_CLIENT, spawnSession } from './session';
import { SOUND } from './texts';

const STEPS = Number(process.env['TORTURE_STEPS'] ?? 120);
const SEED = Number(process.env['TORTURE_SEED'] ?? 1);
const FIGURES = process.env['TORTURE_FIGURES'] !== undefined;
const SAMPLES = join(__dirname, '../../samples');
/** Requests under way at once, at most: a client that never waits would only measure its own queue. */
const IN_FLIGHT = 40;
const ENCODINGS = ['utf-8', 'utf-16', 'utf-32'] as const;
type Encoding = (typeof ENCODINGS)[number];

const ODD = [
  '__proto__',
  'constructor',
  'toString',
  'hasOwnProperty',
  '\ud83d',
  '\ude00',
  '🚪',
  'é',
  '"',
  '{',
  '}',
  '\r',
];
const SALAD = [
  '\n',
  ' ',
  'door ',
  'signal a = ',
  'TON(run, 2 s)',
  '= ',
  '..',
  ' s',
  '9',
  '-',
  'import "b.rig"\n',
  'require ',
];
const FILES = ['a.rig', 'b.rig', 'c d.rig', '__proto__.rig', 'constructor.rig', 'ü🚪.rig'];

let server = '';
beforeAll(async () => {
  server = await bundleServer();
});

/** Units of a text before an offset in an encoding: counted here by our own rule, not by the server's. */
function units(text: string, encoding: Encoding): number {
  if (encoding === 'utf-16') return text.length;
  const points = [...text];
  return encoding === 'utf-32' ? points.length : points.reduce((n, c) => n + Buffer.byteLength(c), 0);
}

/** Lines end as the protocol says: with LF, CR LF or CR. */
function positionOf(text: string, offset: number, encoding: Encoding): { line: number; character: number } {
  const lines = text.slice(0, offset).split(/\r\n|\r|\n/);
  return { line: lines.length - 1, character: units(lines.at(-1)!, encoding) };
}

/** An offset that no CR LF and no surrogate pair is split by: no client can name a place inside one. */
function someOffset(random: Random, text: string): number {
  let at = integer(random, 0, text.length);
  while (at > 0 && /^(\r\n|[\ud800-\udbff][\udc00-\udfff])$/.test(text.slice(at - 1, at + 1))) at--;
  return at;
}

interface Torture {
  readonly random: Random;
  readonly encoding: Encoding;
  readonly session: Awaited<ReturnType<typeof spawnSession>>;
  readonly uris: readonly string[];
  readonly texts: Map<string, { text: string; version: number }>;
  readonly sources: readonly string[];
  readonly underWay: Set<Promise<void>>;
  readonly cancels: CancellationTokenSource[];
  readonly figures: { requests: number; hover: number; thread: number };
  readonly faults: string[];
}

/** What a request may be answered with instead of a result: cancelled, overtaken by an edit, refused with a reason. */
const ALLOWED = new Set([-32800, -32801, -32803]);

function requestsAt(t: Torture, uri: string): readonly (readonly [string, object])[] {
  const { random, encoding } = t;
  const text = t.texts.get(uri)?.text ?? SOUND;
  const textDocument = { uri };
  const offsets = [someOffset(random, text), someOffset(random, text)].sort((a, b) => a - b);
  const [start, end] = offsets.map((o) => positionOf(text, o, encoding)) as [object, object];
  const wild = { line: integer(random, 0, 200), character: integer(random, 0, 300) };
  const position = random() < 0.1 ? wild : start;
  const at = { textDocument, position };
  const range = { start, end };
  const item = { name: pick(random, ODD), kind: 12, uri, range, selectionRange: { start, end: start } };
  const options = { tabSize: 2, insertSpaces: true };
  const previousResultIds = [{ uri, value: pick(random, ['1', '__proto__']) }];
  return [
    ...(t.session.result.capabilities.diagnosticProvider
      ? [['textDocument/diagnostic', { textDocument }] as const]
      : []),
    ['textDocument/completion', { ...at, context: { triggerKind: 1 } }],
    ['completionItem/resolve', { label: pick(random, ODD), data: pick<unknown>(random, [null, uri, { uri }]) }],
    ['textDocument/signatureHelp', at],
    ['textDocument/definition', at],
    ['textDocument/references', { ...at, context: { includeDeclaration: random() < 0.5 } }],
    ['textDocument/documentHighlight', at],
    ['textDocument/prepareCallHierarchy', at],
    ['callHierarchy/incomingCalls', { item }],
    ['callHierarchy/outgoingCalls', { item }],
    ['textDocument/prepareRename', at],
    ['textDocument/rename', { ...at, newName: pick(random, [...ODD, 'fresh_name']) }],
    ['textDocument/documentSymbol', { textDocument }],
    ['textDocument/foldingRange', { textDocument }],
    ['textDocument/selectionRange', { textDocument, positions: [start, end] }],
    ['textDocument/semanticTokens/full', { textDocument }],
    ['textDocument/semanticTokens/range', { textDocument, range }],
    ['textDocument/inlayHint', { textDocument, range }],
    ['textDocument/codeLens', { textDocument }],
    ['textDocument/codeAction', { textDocument, range, context: { diagnostics: [] } }],
    ['textDocument/documentLink', { textDocument }],
    ['textDocument/formatting', { textDocument, options }],
    ['textDocument/rangeFormatting', { textDocument, range, options }],
    ['workspace/symbol', { query: pick(random, ['', ...ODD, 'inner']) }],
    ['workspace/executeCommand', { command: pick(random, ['caisson.timing', ...ODD]), arguments: [uri, null] }],
    ['caisson/preview', { uri, stores: random() < 0.2 }],
    ['caisson/sheet', { uri, rig: pick(random, [null, ...ODD]) }],
    ['caisson/differences', { uri, other: pick(random, t.uris) }],
    [
      'caisson/readings',
      { uri, text: `t,${pick(random, ODD)}\n0,1\n`, scenario: pick(random, [null, ...ODD]), about: 'compare' },
    ],
    ['rig/tests', { uri }],
    ['no/such/request', { previousResultIds }],
  ];
}

function ask(t: Torture, method: string, params: object): void {
  const source = new CancellationTokenSource();
  const isHover = method === 'textDocument/hover';
  const [asked, thread] = [performance.now(), isHover ? threadTime(t) : 0];
  t.figures.requests++;
  const answered = t.session.connection.sendRequest(method, params, source.token).then(
    () => {
      if (!isHover) return;
      t.figures.hover = Math.max(t.figures.hover, performance.now() - asked);
      t.figures.thread = Math.max(t.figures.thread, threadTime(t) - thread);
    },
    (error: { code?: number; message: string }) => {
      const isUnknown = method === 'no/such/request' && error.code === -32601;
      if (!isUnknown && !ALLOWED.has(error.code ?? 0)) t.faults.push(`${method}: ${error.code} ${error.message}`);
    },
  );
  const settled = answered.finally(() => t.underWay.delete(settled));
  t.underWay.add(settled);
  if (t.random() < 0.25) t.cancels.push(source);
}

/** Milliseconds of a processor that the server's first thread has had; 0 where nobody asks for figures. */
function threadTime({ session }: Torture): number {
  if (!FIGURES) return 0;
  return Number(readFileSync(`/proc/${session.process.pid}/schedstat`, 'utf8').split(' ')[0]) / 1e6;
}

function edit(t: Torture, uri: string): void {
  const { random } = t;
  const open = t.texts.get(uri)!;
  const contentChanges: object[] = [];
  for (let k = integer(random, 1, 3); k > 0; k--) {
    const whole = random() < 0.04 || open.text.length > 12_000;
    const [from, to] = whole ? [0, open.text.length] : someRange(random, open.text);
    const text = whole ? pick(random, t.sources) : random() < 0.4 ? pick(random, ODD) : someSlice(random, t.sources);
    const range = { start: positionOf(open.text, from, t.encoding), end: positionOf(open.text, to, t.encoding) };
    contentChanges.push(whole ? { text } : { range, text });
    open.text = open.text.slice(0, from) + text + open.text.slice(to);
  }
  open.version++;
  notify(t, 'textDocument/didChange', { textDocument: { uri, version: open.version }, contentChanges });
}

function someRange(random: Random, text: string): readonly [number, number] {
  const from = someOffset(random, text);
  const length = pick(random, [0, 0, 1, 3, 20]);
  let to = Math.min(text.length, from + length);
  while (to > from && /^(\r\n|[\ud800-\udbff][\udc00-\udfff])$/.test(text.slice(to - 1, to + 1))) to--;
  return [from, to];
}

function someSlice(random: Random, sources: readonly string[]): string {
  if (random() < 0.5) return pick(random, SALAD);
  const source = pick(random, sources);
  const [from, to] = someRange(random, source);
  return source.slice(from, to);
}

function notify(t: Torture, method: string, params: object): void {
  void t.session.connection.sendNotification(method, params);
}

/** Opens, closes, writes or deletes a file. */
function moveFile(t: Torture, folder: string): void {
  const { random, texts } = t;
  const k = integer(random, 0, FILES.length - 1);
  const uri = t.uris[k]!;
  const path = join(folder, FILES[k]!);
  const kind = random();
  if (kind < 0.5) {
    if (texts.has(uri)) {
      texts.delete(uri);
      notify(t, 'textDocument/didClose', { textDocument: { uri } });
    } else openFile(t, uri, pick(random, t.sources));
    return;
  }
  if (kind < 0.8) writeFileSync(path, pick(random, t.sources));
  else rmSync(path, { force: true });
  notify(t, 'workspace/didChangeWatchedFiles', { changes: [{ uri, type: kind < 0.8 ? 2 : 3 }] });
}

function openFile(t: Pick<Torture, 'texts' | 'session'>, uri: string, text: string): void {
  t.texts.set(uri, { text, version: 1 });
  const textDocument = { uri, languageId: 'rig', version: 1, text };
  void t.session.connection.sendNotification('textDocument/didOpen', { textDocument });
}

async function step(t: Torture, folder: string): Promise<void> {
  const { random } = t;
  while (t.underWay.size >= IN_FLIGHT) await Promise.race(t.underWay);
  while (t.cancels.length > 6 || (t.cancels.length > 0 && random() < 0.1))
    t.cancels.splice(integer(random, 0, t.cancels.length - 1), 1)[0]!.cancel();
  const open = [...t.texts.keys()];
  const kind = random();
  if (kind < 0.35 && open.length > 0) edit(t, pick(random, open));
  else if (kind < 0.39) moveFile(t, folder);
  else if (kind < 0.4) notify(t, 'workspace/didChangeConfiguration', { settings: null });
  else if (kind < 0.5 && open.length > 0) {
    const uri = pick(random, open);
    const text = t.texts.get(uri)!.text;
    const position = positionOf(text, someOffset(random, text), t.encoding);
    ask(t, 'textDocument/hover', { textDocument: { uri }, position });
  } else ask(t, ...pick(random, requestsAt(t, pick(random, t.uris))));
}

/** The diagnostics of every open file, in an order of their own, once the server has nothing left to do. */
async function settledDiagnostics(
  session: Torture['session'],
  texts: Torture['texts'],
): Promise<Record<string, unknown[]>> {
  const result: Record<string, unknown[]> = {};
  for (const [uri, { version }] of [...texts].sort(([a], [b]) => (a < b ? -1 : 1))) {
    if (session.result.capabilities.diagnosticProvider) {
      const report = await session.ask<{ items: unknown[] }>('textDocument/diagnostic', { textDocument: { uri } });
      result[uri] = report.items;
    } else {
      await session.diagnostics(uri, (p) => p.version === version);
      // A later publication of the same version follows what a file beside it has become: the test view waits for it, too.
      await session.ask('rig/tests', { uri });
      await session.ask('textDocument/codeLens', { textDocument: { uri } });
      let count = -1;
      while (count !== session.published.length) {
        count = session.published.length;
        await new Promise((resolve) => setTimeout(resolve, 400));
      }
      result[uri] = [...session.published.filter((p) => p.uri === uri).at(-1)!.diagnostics];
    }
  }
  return result;
}

function start(folder: string, encoding: Encoding, pulls: boolean): ReturnType<typeof spawnSession> {
  const client = pulls ? PULL_CLIENT : FULL_CLIENT;
  return spawnSession(process.execPath, [server, '--stdio'], {
    capabilities: { ...client, general: { positionEncodings: [encoding] } },
    initialize: { workspaceFolders: [{ uri: pathToFileURL(folder).href, name: 'torture' }] },
  });
}

function peakMegabytes(pid: number): number {
  const line = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'));
  return Math.round(Number(line?.[1] ?? 0) / 1024);
}

describe.each(ENCODINGS.flatMap((encoding) => [false, true].map((pulls) => ({ encoding, pulls }))))(
  'a server asked at random, $encoding, pulled: $pulls',
  ({ encoding, pulls }) => {
    it(`answers all of ${STEPS} steps and reports what a fresh one does`, { timeout: 3_600_000 }, async () => {
      const folder = mkdtempSync(join(tmpdir(), 'caisson torture ü-'));
      const small = readdirSync(SAMPLES)
        .filter((name) => name.endsWith('.rig'))
        .map((name) => readFileSync(join(SAMPLES, name), 'utf8'))
        .filter((text) => text.length < 4000);
      const imports = FILES.map((name) => `import "${name}"\n${SOUND}`);
      const sources = [SOUND, SOUND.replaceAll('\n', '\r\n'), ...imports, ...small, 'let dwell = 2 s\n', ''];
      const session = await start(folder, encoding, pulls);
      expect(session.result.capabilities.positionEncoding).toBe(encoding);
      let written = '';
      session.process.stderr!.on('data', (chunk: Buffer) => (written += chunk.toString()));
      const t: Torture = {
        random: seeded(SEED * 100 + ENCODINGS.indexOf(encoding) * 2 + Number(pulls)),
        encoding,
        session,
        uris: FILES.map((name) => pathToFileURL(join(folder, name)).href),
        texts: new Map(),
        sources,
        underWay: new Set(),
        cancels: [],
        figures: { requests: 0, hover: 0, thread: 0 },
        faults: [],
      };
      const began = performance.now();
      for (let k = 0; k < STEPS; k++) await step(t, folder);
      for (const source of t.cancels.splice(0)) source.cancel();
      await Promise.all(t.underWay);
      const seconds = (performance.now() - began) / 1000;
      const last = await settledDiagnostics(session, t.texts);
      expect(t.faults).toEqual([]);
      expect(session.logged).toEqual([]);
      expect(session.process.exitCode).toBeNull();
      expect(written).toBe('');
      if (FIGURES) {
        const { requests, hover, thread } = t.figures;
        const peak = peakMegabytes(session.process.pid!);
        console.log(
          `${encoding} pulls ${pulls}: ${requests} requests, ${seconds.toFixed(1)} s, hover ${hover.toFixed(0)} ms (${thread.toFixed(0)} of the thread), ${peak} MB`,
        );
      }
      await session.close();

      const fresh = await start(folder, encoding, pulls);
      for (const [uri, { text }] of [...t.texts]) openFile({ texts: new Map(), session: fresh }, uri, text);
      const once = new Map([...t.texts].map(([uri, { text }]) => [uri, { text, version: 1 }]));
      expect(last).toEqual(await settledDiagnostics(fresh, once));
      await fresh.close();
      rmSync(folder, { recursive: true, force: true });
    });
  },
);
