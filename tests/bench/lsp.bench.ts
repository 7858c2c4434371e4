/**
 * The server as an editor meets it: spawn → ready, edit → diagnostics over standard streams at 1,000 and 10,000 lines against
 * vscode-css-languageservice validating a style sheet of the same length in the same run (turn by turn, so that a busy machine
 * slows both alike; the style sheet has no protocol to cross), heap after 1,000 edits.
 */
import { once } from 'node:events';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { getCSSLanguageService } from 'vscode-css-languageservice';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { bundleServer } from '../lsp/bundle';
import type { Session } from '../lsp/session';
import { spawnSession } from '../lsp/session';
import { median, rigText, sheetText } from './texts';

const p95 = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[Math.floor(values.length * 0.95)]!;
const ms = (value: number): string => `${value.toFixed(1)} ms`;

async function timed(work: () => Promise<unknown> | unknown): Promise<number> {
  const start = performance.now();
  await work();
  return performance.now() - start;
}

/** Processor time a process has used so far, in milliseconds (Linux; ticks of 10 ms). NaN elsewhere. */
function processorTime(pid: number): number {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1]!.split(' ');
    return (Number(fields[11]) + Number(fields[12])) * 10;
  } catch {
    return NaN;
  }
}

async function readiness(server: string): Promise<void> {
  const bare: number[] = [];
  const ready: number[] = [];
  for (let i = 0; i < 8; i++) {
    const { spawn } = await import('node:child_process');
    bare.push(await timed(() => once(spawn(process.execPath, ['-e', '0']), 'exit')));
    let session: Session | null = null;
    ready.push(await timed(async () => (session = await spawnSession(process.execPath, [server, '--stdio']))));
    await session!.close();
  }
  console.log(`spawn → ready: ${ms(median(ready))} (node alone ${ms(median(bare))}; target 300 ms)`);
}

/** Changes one digit of a timer preset in the middle of the text, so that times change each turn. */
async function editing(server: string, lines: number, turns: number): Promise<void> {
  const session = await spawnSession(process.execPath, [server, '--stdio']);
  const uri = `file:///bench/${lines}.rig`;
  const text = rigText(lines);
  const document = session.open(uri, text);
  const cold = await timed(() => session.diagnostics(uri));
  const preset = /TOF\([^\n]*?(\d)(?:\.\d+)? s\)/g;
  preset.lastIndex = text.length >> 1;
  const match = preset.exec(text)!;
  const at = match.index + match[0].lastIndexOf(match[1]!);
  const service = getCSSLanguageService();
  let sheet = sheetText(lines);
  const ours: number[] = [];
  const css: number[] = [];
  const pid = session.process.pid!;
  const usedBefore = processorTime(pid);
  let cssUsed = 0;
  for (let i = 0; i < turns; i++) {
    const digit = String(1 + (i % 8));
    ours.push(
      await timed(async () => {
        session.edit(document, at, at + 1, digit);
        await session.diagnostics(uri, (p) => p.version === document.version);
      }),
    );
    session.published.length = 0;
    sheet = sheet.replace(/margin: \d/, `margin: ${digit}`);
    const used = process.cpuUsage();
    css.push(
      await timed(() => {
        const d = TextDocument.create('file:///bench.css', 'css', i, sheet);
        service.doValidation(d, service.parseStylesheet(d));
      }),
    );
    const { user, system } = process.cpuUsage(used);
    cssUsed += (user + system) / 1000;
  }
  const used = processorTime(pid) - usedBefore;
  await session.close();
  console.log(
    `${lines} lines: edit → diagnostics ${ms(median(ours))} (p95 ${ms(p95(ours))}, first opening ${ms(cold)}); ` +
      `style sheet ${ms(median(css))}; ratio ${(median(ours) / median(css)).toFixed(2)} (target at most 1); ` +
      `processor ${ms(used / turns)} and ${ms(cssUsed / turns)} a turn, ratio ${(used / cssUsed).toFixed(2)}`,
  );
}

/** Answers while nothing is typed, at places spread over the text. */
async function answers(server: string, lines: number): Promise<void> {
  const session = await spawnSession(process.execPath, [server, '--stdio']);
  const uri = `file:///bench/answers-${lines}.rig`;
  const document = session.open(uri, rigText(lines));
  await session.diagnostics(uri);
  const textDocument = { uri };
  const length = document.getText().length;
  const figures: string[] = [];
  for (const name of ['hover', 'completion', 'definition', 'semanticTokens/full', 'documentSymbol', 'foldingRange']) {
    const times: number[] = [];
    for (let i = 0; i < 30; i++) {
      const position = document.positionAt(Math.floor((length * (i + 0.5)) / 30));
      times.push(await timed(() => session.ask(`textDocument/${name}`, { textDocument, position })));
    }
    figures.push(`${name} ${ms(median(times))} (p95 ${ms(p95(times))})`);
  }
  await session.close();
  console.log(
    `${lines} lines: ${figures.join(', ')} (target 20 ms p95 for hover, completion, definition at 1,000 lines)`,
  );
}

async function memory(server: string): Promise<void> {
  const hook = join(mkdtempSync(join(tmpdir(), 'caisson-bench-')), 'heap.cjs');
  const tell = `process.on('SIGUSR2', () => { gc(); gc(); process.stderr.write('heap ' + process.memoryUsage().heapUsed + '\\n'); });`;
  writeFileSync(hook, tell);
  const session = await spawnSession(process.execPath, ['--expose-gc', '-r', hook, server, '--stdio']);
  const heap = async (): Promise<number> => {
    session.process.kill('SIGUSR2');
    const [line] = (await once(session.process.stderr!, 'data')) as [Buffer];
    return Number(/heap (\d+)/.exec(line.toString())![1]) / 1e6;
  };
  const uri = 'file:///bench/memory.rig';
  const document = session.open(uri, rigText(1000));
  const at = document.getText().indexOf('TOF(') + 4;
  let before = 0;
  for (let i = 0; i < 1050; i++) {
    // A letter typed and taken away again: the text is broken every other time.
    if (i % 2 === 0) session.edit(document, at, at, 'x');
    else session.edit(document, at, at + 1, '');
    await session.diagnostics(uri, (p) => p.version === document.version);
    session.published.length = 0;
    if (i === 49) before = await heap();
  }
  const after = await heap();
  await session.close();
  console.log(
    `heap after 1,000 edits: ${after.toFixed(1)} MB, before ${before.toFixed(1)} MB: ${(after - before).toFixed(1)} MB more (target at most 20)`,
  );
}

async function main(): Promise<void> {
  const server = await bundleServer();
  await readiness(server);
  await editing(server, 1000, 60);
  await editing(server, 10_000, 25);
  await answers(server, 1000);
  await answers(server, 10_000);
  await memory(server);
}

void main();
