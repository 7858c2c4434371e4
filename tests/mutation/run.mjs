/**
 * Mutation run: do the tests notice when the engines are wrong? Takes a seeded sample of small changes to the sources of five areas
 * (an operator, a condition, a constant, a statement left out), applies one at a time to a copy of the project and runs the tests
 * of the area against it. A change that no test notices is printed with its line: it is either equivalent to the original, or a
 * test is missing.
 *
 *   node tests/mutation/run.mjs [--area timing,checks] [--count 40] [--seed 1] [--out survivors.json] [--only FILE:LINE:COLUMN]
 *
 * `--count` is per area. Not part of `npm test`: 40 changes an area take about an hour.
 */
import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, readFileSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import process from 'node:process';
import { parseArgs } from 'node:util';
import ts from 'typescript';

/** The areas: where changes are made, and the tests that must notice, in the order in which they are tried. */
const areas = {
  timing: {
    sources: ['server/core/timing'],
    tests: [
      ['tests/timing', 'tests/reference'],
      ['tests/agreement', 'tests/metrics', 'tests/run'],
    ],
  },
  checks: { sources: ['server/core/checks'], tests: [['tests/checks'], ['tests/agreement', 'tests/docs']] },
  flow: {
    sources: ['server/core/flow'],
    tests: [
      ['tests/flow', 'tests/reference'],
      ['tests/run', 'tests/metrics', 'tests/checks/flow'],
    ],
  },
  proof: { sources: ['server/core/proof'], tests: [['tests/proof'], ['tests/agreement']] },
  format: {
    sources: [
      'server/core/features/format',
      'server/core/document/apply-edits',
      'server/core/model/resolve',
      'server/core/units',
    ],
    tests: [
      ['tests/features', 'tests/document', 'tests/units', 'tests/fuzz'],
      ['tests/grammar', 'tests/model'],
    ],
  },
};

const { values: options } = parseArgs({
  options: {
    area: { type: 'string', default: Object.keys(areas).join(',') },
    count: { type: 'string', default: '40' },
    seed: { type: 'string', default: '1' },
    out: { type: 'string' },
    only: { type: 'string' },
  },
});

/** Mulberry32: the same sample for the same seed on every machine. */
const random = (seed) => () => {
  seed = (seed + 0x6d2b79f5) | 0;
  let mixed = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
  return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
};

const sourcesBelow = (place) => {
  if (!existsSync(place)) return existsSync(`${place}.ts`) ? [`${place}.ts`] : [];
  return readdirSync(place, { recursive: true })
    .filter((name) => name.endsWith('.ts') && !name.endsWith('.d.ts'))
    .map((name) => path.posix.join(place, name))
    .sort();
};

const kinds = ts.SyntaxKind;
/** What an operator is changed into. */
const swapped = new Map([
  [kinds.LessThanToken, '<='],
  [kinds.LessThanEqualsToken, '<'],
  [kinds.GreaterThanToken, '>='],
  [kinds.GreaterThanEqualsToken, '>'],
  [kinds.EqualsEqualsEqualsToken, '!=='],
  [kinds.ExclamationEqualsEqualsToken, '==='],
  [kinds.PlusToken, '-'],
  [kinds.MinusToken, '+'],
  [kinds.AsteriskToken, '/'],
  [kinds.SlashToken, '*'],
  [kinds.AmpersandAmpersandToken, '||'],
  [kinds.BarBarToken, '&&'],
]);

/** All small changes of one file: `start`, `end` in characters, `text` that stands there instead. */
function changesOf(file, text) {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.Latest, true);
  const changes = [];
  const add = (node, replacement, start = node.getStart(source), end = node.getEnd()) =>
    changes.push({ start, end, text: replacement });
  const walk = (node) => {
    // Types and imports do not exist when the program runs.
    if (
      ts.isTypeNode(node) ||
      ts.isImportDeclaration(node) ||
      ts.isInterfaceDeclaration(node) ||
      ts.isTypeAliasDeclaration(node)
    )
      return;
    if (ts.isBinaryExpression(node) && swapped.has(node.operatorToken.kind)) {
      const joinsText = [node.left, node.right].some(
        (side) => ts.isStringLiteral(side) || ts.isTemplateExpression(side),
      );
      if (!joinsText) add(node.operatorToken, swapped.get(node.operatorToken.kind));
    }
    if (ts.isIfStatement(node)) add(node.expression, `!(${node.expression.getText(source)})`);
    if (ts.isConditionalExpression(node)) add(node.condition, `!(${node.condition.getText(source)})`);
    if (node.kind === kinds.TrueKeyword) add(node, 'false');
    if (node.kind === kinds.FalseKeyword) add(node, 'true');
    if (ts.isNumericLiteral(node)) add(node, `(${node.text} + 1)`);
    if (ts.isBigIntLiteral(node)) add(node, `(${node.text} + 1n)`);
    if (
      ts.isExpressionStatement(node) &&
      (ts.isCallExpression(node.expression) || ts.isBinaryExpression(node.expression))
    )
      add(node, ';');
    ts.forEachChild(node, walk);
  };
  walk(source);
  return changes.map((change) => {
    const { line, character } = source.getLineAndCharacterOfPosition(change.start);
    return {
      file,
      ...change,
      place: `${file}:${line + 1}:${character + 1}`,
      was: text.slice(change.start, change.end),
    };
  });
}

// Everything is read from the copy, so that the project may be worked on meanwhile.
const copy = '.cache/mutation';
rmSync(copy, { recursive: true, force: true });
mkdirSync(copy, { recursive: true });
const left = new Set(['node_modules', '.git', '.cache', '.types', '.vscode-test']);
for (const name of readdirSync('.')) if (!left.has(name)) cpSync(name, path.join(copy, name), { recursive: true });
symlinkSync(path.resolve('node_modules'), path.join(copy, 'node_modules'));

/** True where the tests pass; `limit` in ms. A run that does not end counts as noticed, and is ended with all its workers. */
function passes(tests, limit) {
  return new Promise((resolve) => {
    const arguments_ = [path.resolve('node_modules/vitest/vitest.mjs'), 'run', '--bail=1', '--reporter=dot', ...tests];
    const run = spawn(process.execPath, arguments_, {
      cwd: copy,
      stdio: 'ignore',
      detached: true,
      env: { ...process.env, NODE_ENV: 'test' },
    });
    const timer = setTimeout(() => process.kill(-run.pid, 'SIGKILL'), limit);
    run.on('close', (status) => {
      clearTimeout(timer);
      resolve(status === 0);
    });
  });
}

const survivors = [];
const counts = {};
for (const name of options.area.split(',')) {
  const area = areas[name];
  const changes = area.sources
    .flatMap(sourcesBelow)
    .flatMap((file) => changesOf(file, readFileSync(path.join(copy, file), 'utf8')));
  const chance = random(Number(options.seed));
  const sample = options.only
    ? changes.filter((change) => change.place === options.only)
    : Array.from(
        { length: Math.min(Number(options.count), changes.length) },
        () => changes.splice(Math.floor(chance() * changes.length), 1)[0],
      );
  const limits = [];
  for (const tests of area.tests) {
    const begin = performance.now();
    if (!(await passes(tests, 1_800_000)))
      throw new Error(`the tests of ${name} (${tests.join(' ')}) fail without a change`);
    limits.push(60_000 + 4 * (performance.now() - begin));
  }
  console.log(
    `${name}: ${sample.length} of ${changes.length + sample.length} changes, tests take ${limits.map((limit) => ((limit - 60_000) / 4000).toFixed(0)).join(' + ')} s`,
  );
  counts[name] = { found: 0, survived: 0 };
  for (const change of sample) {
    const copied = path.join(copy, change.file);
    const original = readFileSync(copied, 'utf8');
    writeFileSync(copied, original.slice(0, change.start) + change.text + original.slice(change.end));
    let found = false;
    for (let tier = 0; tier < limits.length && !found; tier++) found = !(await passes(area.tests[tier], limits[tier]));
    writeFileSync(copied, original);
    counts[name][found ? 'found' : 'survived'] += 1;
    const line = `${found ? 'found   ' : 'SURVIVED'} ${change.place}  ${change.was.slice(0, 60).replaceAll('\n', ' ')} => ${change.text.slice(0, 60).replaceAll('\n', ' ')}`;
    console.log(line);
    if (!found) survivors.push({ area: name, place: change.place, was: change.was, text: change.text });
    if (options.out)
      writeFileSync(options.out, JSON.stringify({ seed: options.seed, counts, survivors }, undefined, 2));
  }
}
for (const [name, { found, survived }] of Object.entries(counts))
  console.log(`${name}: ${found} of ${found + survived} found`);
