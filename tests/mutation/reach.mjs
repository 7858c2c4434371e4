/**
 * Which test file enters which block of the sources, and what each takes: the tests run once over a copy that notes its blocks. Kept in
 * `.cache/mutation/reach.json` until the sources that it was taken from change.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { appendFileSync, existsSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import process from 'node:process';
import { AREAS, noting, sourcesBelow } from './changes.mjs';

/** Tests of these folders look at the engines from too far away, or start browsers and other programs. */
const FAR = ['bench', 'client', 'disk', 'docs', 'editor', 'l10n', 'lsp', 'mutation', 'package', 'page', 'support'];

/** `copy` holds the project; it is changed, and brought back. Gives `{ first: file → number of its first block, tests: [{ file, seconds, blocks }] }`. */
export function reachIn(copy, home) {
  const kept = path.join(home, 'reach.json');
  const files = Object.values(AREAS).flatMap((places) => places.flatMap(sourcesBelow));
  const texts = new Map(files.map((file) => [file, readFileSync(path.join(copy, file), 'utf8')]));
  const key = createHash('sha256')
    .update(JSON.stringify([...texts]))
    .digest('hex');
  if (existsSync(kept)) {
    const reach = JSON.parse(readFileSync(kept, 'utf8'));
    if (reach.key === key) return reach;
  }
  const first = {};
  let next = 0;
  for (const [file, text] of texts) {
    const noted = noting(file, text, next);
    writeFileSync(path.join(copy, file), noted.text);
    first[file] = next;
    next += noted.count;
  }
  const tests = measured(copy, path.resolve(home, 'noted'));
  for (const [file, text] of texts) writeFileSync(path.join(copy, file), text);
  const reach = { key, first, tests };
  writeFileSync(kept, JSON.stringify(reach));
  return reach;
}

function measured(copy, into) {
  rmSync(into, { recursive: true, force: true });
  mkdirSync(into, { recursive: true });
  const setup = path.join(copy, 'tests/support/seeds.ts');
  const original = readFileSync(setup, 'utf8');
  appendFileSync(
    setup,
    `
import { afterAll, expect } from 'vitest';
import { writeFileSync } from 'node:fs';
afterAll(() => {
  const noted: Uint8Array = ((globalThis as any).__noted ??= new Uint8Array(1e5));
  const blocks = [...noted.keys()].filter((k) => noted[k] === 1);
  noted.fill(0);
  const file = expect.getState().testPath!;
  writeFileSync(${JSON.stringify(into)} + '/' + file.replaceAll('/', '_') + '.json', JSON.stringify({ file, blocks }));
});
`,
  );
  const folders = readdirSync(path.join(copy, 'tests'), { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && !FAR.includes(entry.name))
    .map(({ name }) => `tests/${name}/`);
  const report = path.join(into, 'vitest.json');
  const arguments_ = ['run', '--reporter=json', `--outputFile=${report}`, ...folders];
  spawnSync(process.execPath, [path.resolve('node_modules/vitest/vitest.mjs'), ...arguments_], {
    cwd: copy,
    stdio: 'ignore',
    env: { ...process.env, NODE_ENV: 'test' },
  });
  writeFileSync(setup, original);
  const took = new Map(JSON.parse(readFileSync(report, 'utf8')).testResults.map((result) => [result.name, result]));
  return readdirSync(into)
    .filter((name) => name !== 'vitest.json')
    .map((name) => JSON.parse(readFileSync(path.join(into, name), 'utf8')))
    .filter(({ file }) => took.get(file)?.status === 'passed')
    .map(({ file, blocks }) => {
      const { startTime, endTime } = took.get(file);
      return { file: path.relative(path.resolve(copy), file), seconds: (endTime - startTime) / 1000, blocks };
    });
}
