/** Runs exported C: writes the files, compiles them strictly, feeds a script of inputs, reads the output changes back. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CFiles } from '../../server/core/report/exports/c';

export const STRICT = ['-std=c99', '-Wall', '-Wextra', '-Werror', '-pedantic'];

/** Whether a C compiler is there. */
export function hasCompiler(): boolean {
  return spawnSync('gcc', ['--version']).status === 0;
}

/** Output lines of the program for the script; throws with the compiler's words where it does not compile. */
export function runCompiled(files: CFiles, script: string, flags: readonly string[] = []): string[] {
  const folder = mkdtempSync(join(tmpdir(), 'caisson-c-'));
  try {
    const at = (name: string) => join(folder, name);
    writeFileSync(at(`${files.name}.h`), files.header);
    writeFileSync(at(`${files.name}.c`), files.source);
    writeFileSync(at('main.c'), files.main);
    const built = spawnSync(
      'gcc',
      [...STRICT, '-I', folder, ...flags, '-o', at('run'), at(`${files.name}.c`), at('main.c')],
      {
        encoding: 'utf8',
      },
    );
    if (built.status !== 0) throw new Error(`gcc: ${built.stderr}`);
    const ran = spawnSync(at('run'), [], { input: script, encoding: 'utf8', maxBuffer: 1 << 28 });
    if (ran.stderr !== '') throw new Error(ran.stderr);
    const lines = ran.stdout.split('\n').filter((line) => line !== '');
    return ran.status === 0 ? lines : [...lines, 'fault'];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
