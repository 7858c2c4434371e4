/** Stored results that people read. `UPDATE_GOLDENS=1` writes them anew; look at the difference before committing. */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { expect } from 'vitest';

/** Compares with the file; in an update run, writes it. A missing file fails, so that a golden cannot be forgotten. */
export function expectGolden(path: string, text: string): void {
  if (process.env.UPDATE_GOLDENS === '1') {
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, text);
    return;
  }
  expect(existsSync(path), `${path} is missing; UPDATE_GOLDENS=1 makes it`).toBe(true);
  expect(text).toBe(readFileSync(path, 'utf8'));
}
