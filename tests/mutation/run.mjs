/**
 * Mutation run: do the tests notice when the engines are wrong? Takes a seeded sample of small changes to the sources of five areas
 * (`changes.mjs`), puts them all into a copy of the project, of which one at a time is made as it runs (`batch.mjs`), and runs the test files that reach its
 * block (`reach.mjs`), near ones and cheap ones first, up to the first that fails. A change that no test notices is printed with its line: it is either equivalent to the original, or a
 * test is missing.
 *
 *   node tests/mutation/run.mjs [--area timing,checks] [--count 40] [--seed 1] [--out results.json] [--only FILE:LINE:COLUMN] [--seconds 60]
 *
 * `--count` is per area; test files that together take longer than `--seconds` are left out. Not part of `npm test`: the reach takes as long as the tests, 40
 * changes an area about an hour.
 */
import { cpSync, mkdirSync, readFileSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { prepare, runBatch } from './batch.mjs';
import { actsAtLoading, AREAS, blocksAround, changesOf, random, sourcesBelow, switchable } from './changes.mjs';
import { reachIn } from './reach.mjs';

const { values: options } = parseArgs({
  options: {
    area: { type: 'string', default: Object.keys(AREAS).join(',') },
    count: { type: 'string', default: '40' },
    seed: { type: 'string', default: '1' },
    seconds: { type: 'string', default: '60' },
    out: { type: 'string' },
    only: { type: 'string' },
  },
});

// Everything is read from the copy, so that the project may be worked on meanwhile.
const home = '.cache/mutation';
const copy = path.join(home, 'copy');
rmSync(copy, { recursive: true, force: true });
mkdirSync(copy, { recursive: true });
const left = new Set(['node_modules', '.git', '.cache', '.types', '.vscode-test']);
for (const name of readdirSync('.')) if (!left.has(name)) cpSync(name, path.join(copy, name), { recursive: true });
symlinkSync(path.resolve('node_modules'), path.join(copy, 'node_modules'));

const reach = reachIn(copy, home);
console.log(
  `${reach.tests.length} test files, ${reach.tests.reduce((sum, { seconds }) => sum + seconds, 0).toFixed(0)} s`,
);
const reached = reach.tests.map((test) => ({ ...test, blocks: new Set(test.blocks) }));

/** Folders of tests that look at an area closely. */
const NEAR = {
  timing: ['timing', 'reference'],
  checks: ['checks'],
  flow: ['flow', 'run'],
  proof: ['proof'],
  format: ['features', 'document', 'units', 'model'],
};
/** Elsewhere a second finds less. */
const FAR = 4;

/** The test files that may notice a change, those first that find most a second, and the number of those left out. */
function noticing({ file, area, start, end }, text) {
  const blocks = blocksAround(file, text, { start, end }).map((k) => k + reach.first[file]);
  const tests = reached.filter((test) => blocks.some((block) => test.blocks.has(block)));
  const cost = (test) => test.seconds * (NEAR[area].some((name) => test.file.startsWith(`tests/${name}/`)) ? 1 : FAR);
  tests.sort((a, b) => cost(a) - cost(b));
  let left = Number(options.seconds);
  const files = tests.filter(({ seconds }, k) => k === 0 || (left -= seconds) >= 0 || ((left += seconds), false));
  return { files: files.map((test) => test.file), leftOut: tests.length - files.length };
}

/** The changes to look at, areas in turn, so that a run that is ended early has looked at all of them. */
function sampled() {
  const areas = options.area.split(',').map((area) => {
    const changes = AREAS[area]
      .flatMap(sourcesBelow)
      .flatMap((file) => changesOf(file, readFileSync(path.join(copy, file), 'utf8')));
    const chance = random(Number(options.seed));
    console.log(`${area}: ${changes.length} changes`);
    const sample = options.only
      ? changes.filter((change) => change.place === options.only)
      : Array.from(
          { length: Math.min(Number(options.count), changes.length) },
          () => changes.splice(Math.floor(chance() * changes.length), 1)[0],
        );
    return sample.map((change, k) => ({ ...change, area, k }));
  });
  return areas
    .flat()
    .sort((a, b) => a.k - b.k)
    .map((change, k) => ({ ...change, number: k + 1 }));
}

const sample = sampled();
const texts = new Map(sample.map(({ file }) => [file, readFileSync(path.join(copy, file), 'utf8')]));
for (const change of sample) {
  const { files, leftOut } = noticing(change, texts.get(change.file));
  Object.assign(change, {
    files,
    leftOut,
    loading: actsAtLoading(change.file, texts.get(change.file), change),
  });
}
const secondsOf = new Map(reach.tests.map(({ file, seconds }) => [file, seconds]));
/** Other programs may use the machine meanwhile. */
const limitOf = (file) => 90 + 10 * secondsOf.get(file);
const byNumber = new Map(sample.map((change) => [change.number, change]));
const results = [];
const counts = Object.fromEntries(options.area.split(',').map((area) => [area, { found: 0, survived: 0 }]));
function tell(number, by) {
  const { area, place, was, text, files, leftOut, loading } = byNumber.get(number);
  counts[area][by ? 'found' : 'survived'] += 1;
  const said = `${was.slice(0, 60).replaceAll('\n', ' ')} => ${text.slice(0, 60).replaceAll('\n', ' ')}`;
  const how = by ?? `${files.length} files pass${leftOut > 0 ? `, ${leftOut} left out` : ''}`;
  console.log(`${by ? 'found   ' : 'SURVIVED'} ${place}  ${said}  (${how})`);
  results.push({ area, place, was, text, by, files: files.length, leftOut, loading });
  if (options.out) writeFileSync(options.out, JSON.stringify({ seed: options.seed, counts, results }, undefined, 2));
}

prepare(copy);
for (const [file, text] of texts)
  writeFileSync(
    path.join(copy, file),
    switchable(
      text,
      sample.filter((change) => change.file === file && !change.loading),
    ),
  );
await runBatch(
  copy,
  sample.filter(({ loading }) => !loading),
  limitOf,
  tell,
);
// What acts as its file is loaded is changed in the text itself.
for (const change of sample.filter(({ loading }) => loading)) {
  const text = texts.get(change.file);
  writeFileSync(path.join(copy, change.file), text.slice(0, change.start) + change.text + text.slice(change.end));
  await runBatch(copy, [change], limitOf, tell);
  writeFileSync(path.join(copy, change.file), text);
}
for (const [name, { found, survived }] of Object.entries(counts))
  console.log(`${name}: ${found} of ${found + survived} found`);
