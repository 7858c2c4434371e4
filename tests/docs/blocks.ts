/** Blocks of a document that a comment above them makes runnable: files put together as the reader would, commands with what they print. */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { run, ROOT } from '../cli/run';

const STEP = /<!-- (file|edit|insert before \}|run) ?: ?(.+?) -->\n+```(\w+)\n([\s\S]*?)```/g;

export interface Fence {
  readonly language: string;
  readonly body: string;
  readonly line: number;
}

export const documentText = (path: string): string => readFileSync(join(ROOT, path), 'utf8');

/** Every fenced block of a document. */
export function fencesOf(path: string): Fence[] {
  const text = documentText(path);
  return [...text.matchAll(/^```(\w*)\n([\s\S]*?)^```$/gm)].map((m) => ({
    language: m[1]!,
    body: m[2]!,
    line: text.slice(0, m.index).split('\n').length,
  }));
}

/** Replaces the line that declares the same thing, as `edit` says. */
function edited(text: string, line: string): string {
  const [, head] = /^(\s*\w+ \w+)/.exec(line)!;
  const lines = text.split('\n');
  const at = lines.findIndex((l) => l.startsWith(head!));
  expect(at, `a line that begins with ${head}`).toBeGreaterThan(-1);
  lines[at] = line.trimEnd();
  return lines.join('\n');
}

/** What the reader types, and what is printed. */
async function outputOf(command: string, files: Record<string, string>): Promise<string> {
  const [words, most] = command.split(' | head -');
  expect(words).toMatch(/^caisson /);
  const { out, err, written } = await run(words!.split(' ').slice(1), files);
  for (const [path, text] of written) files[path.replace(`${ROOT}/`, '')] = String(text);
  const lines = (out + err).trimEnd().split('\n');
  return [`$ ${command}`, ...lines.slice(0, most ? Number(most) : lines.length)].join('\n') + '\n';
}

/**
 * Goes through the marked blocks in order; gives how many commands ran. With `UPDATE_GOLDENS=1` the outputs are written anew: read the
 * difference.
 */
export async function runBlocks(path: string): Promise<number> {
  const text = documentText(path);
  const files: Record<string, string> = {};
  let now = '';
  let last = 0;
  let ran = 0;
  for (const match of text.matchAll(STEP)) {
    const [whole, kind, argument, , body] = match as unknown as [string, string, string, string, string];
    let block = whole;
    if (kind === 'file') files[argument] = body;
    else if (kind === 'edit') files[argument] = edited(files[argument]!, body);
    else if (kind === 'insert before }') files[argument] = files[argument]!.replace(/\}\n$/, `\n${body}}\n`);
    else {
      ran++;
      const output = await outputOf(argument, files);
      block = whole.slice(0, whole.length - body.length - 3) + `${output}\`\`\``;
      expect(process.env.UPDATE_GOLDENS === '1' ? output : body, argument).toBe(output);
    }
    now += text.slice(last, match.index) + block;
    last = match.index + whole.length;
  }
  if (process.env.UPDATE_GOLDENS === '1') writeFileSync(join(ROOT, path), now + text.slice(last));
  return ran;
}
