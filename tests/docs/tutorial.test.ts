/**
 * The tutorial does what it says: its files are put together as the reader would, each command is run, and its output is what stands below
 * it. `UPDATE_GOLDENS=1` writes the outputs anew: read the difference.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { run, ROOT } from '../cli/run';

const PATH = join(ROOT, 'grammar/TUTORIAL.md');
const STEP = /<!-- (file|edit|insert before \}|run) ?: ?(.+?) -->\n```(\w+)\n([\s\S]*?)```/g;

/** Replaces the line that declares the same thing, as `edit` says. */
function edited(text: string, line: string): string {
  const [, head] = /^(\s*\w+ \w+)/.exec(line)!;
  const lines = text.split('\n');
  const at = lines.findIndex((l) => l.startsWith(head!));
  expect(at, `a line that begins with ${head}`).toBeGreaterThan(-1);
  lines[at] = line.trimEnd();
  return lines.join('\n');
}

async function outputOf(command: string, files: Record<string, string>): Promise<string> {
  const [words, most] = command.split(' | head -');
  const { out, err } = await run(words!.split(' ').slice(1), files);
  const lines = (out + err).trimEnd().split('\n');
  return lines.slice(0, most ? Number(most) : lines.length).join('\n') + '\n';
}

it('runs, block by block', async () => {
  const text = readFileSync(PATH, 'utf8');
  const files: Record<string, string> = {};
  let now = '';
  let last = 0;
  let ran = 0;
  for (const match of text.matchAll(STEP)) {
    const [whole, kind, argument, language, body] = match as unknown as [string, string, string, string, string];
    let block = whole;
    if (kind === 'file') files[argument] = body;
    else if (kind === 'edit') files[argument] = edited(files[argument]!, body);
    else if (kind === 'insert before }') files[argument] = files[argument]!.replace(/\}\n$/, `\n${body}}\n`);
    else {
      ran++;
      const output = await outputOf(argument, files);
      block = `<!-- run: ${argument} -->\n\`\`\`${language}\n${output}\`\`\``;
      if (process.env.UPDATE_GOLDENS !== '1') expect(body, argument).toBe(output);
    }
    now += text.slice(last, match.index) + block;
    last = match.index + whole.length;
  }
  expect(ran).toBeGreaterThan(4);
  if (process.env.UPDATE_GOLDENS === '1') writeFileSync(PATH, now + text.slice(last));
});
