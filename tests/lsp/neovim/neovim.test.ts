/** Neovim's own client against the bundled server over standard streams: a second, independent reading of the protocol. */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { formatText } from '../../../grammar/src/api';
import { bundleServer } from '../bundle';
import { SOUND } from '../texts';

const present = spawnSync('nvim', ['--version']).status === 0;
if (!present) {
  const message = 'SKIPPED: nvim is not installed, so the server is not driven by Neovim here.';
  if (process.env['CI']) throw new Error(message);
  console.warn(message);
}

interface Result {
  readonly failed?: string;
  readonly log: readonly string[];
  readonly before: readonly string[];
  readonly push: boolean;
  readonly hover: string;
  readonly completion: readonly string[];
  readonly symbols: number;
  readonly actions: readonly string[];
  readonly after: number;
  readonly refusal: string;
  readonly text: string;
}

describe.skipIf(!present)('Neovim', () => {
  it('gets problems, hovers and completions, takes a fix, renames and formats', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'caisson-nvim-'));
    const file = join(folder, 'lock.rig');
    const resultFile = join(folder, 'result.json');
    writeFileSync(file, SOUND.replace('dwell)', 'dwel)'));
    execFileSync('nvim', ['--headless', '--clean', '-S', join(__dirname, 'session.lua')], {
      env: {
        ...process.env,
        CAISSON_NODE: process.execPath,
        CAISSON_SERVER: await bundleServer(),
        CAISSON_FILE: file,
        CAISSON_RESULT: resultFile,
        XDG_STATE_HOME: folder,
        XDG_CACHE_HOME: folder,
        XDG_DATA_HOME: folder,
      },
      stdio: 'pipe',
      timeout: 50_000,
    });
    const result = JSON.parse(readFileSync(resultFile, 'utf8')) as Result;
    expect(result.failed).toBeUndefined();
    expect(result.log).toEqual([]);
    expect(result.push).toBe(true);
    expect(result.before).toContain('name/unknown');
    expect(result.hover).toContain('| 100 ms | 500 ms | 2.1 s | 2.5 s |');
    expect(result.completion).toEqual(['inner', 'outer']);
    expect(result.symbols).toBe(1);
    expect(result.actions[0]).toContain('dwell');
    expect(result.after).toBe(0);
    expect(result.refusal).toBe('`door` is a word of the language and cannot be renamed.');
    expect(result.text).toBe(formatText(SOUND.replace(/\binner\b/g, 'front')).text);
  });
});
