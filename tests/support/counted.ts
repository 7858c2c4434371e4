/**
 * Our programs bundled so that they count what they do: one for each call of a function and each turn of a loop, in our code and in that of
 * the parser. The count stands for time, so that tests of how long something takes hang on no clock and no load.
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { build, type Plugin } from 'esbuild';
import ts from 'typescript';

const ROOT = join(__dirname, '../..');

/** What every counted program has besides its own. */
export interface Ticking {
  /** Calls and turns of loops so far. */
  readonly ticks: () => number;
  /** Raises an error in the program as soon as it has done so many more; once. */
  readonly endAfter: (more: number) => void;
}

/** What is put in wherever the program counts. */
const TICK = '++__ticks>__most&&__over()';

const BANNER = `var __ticks = 0, __most = Infinity;
function __over() { __most = Infinity; throw new Error('It goes on and on.'); }`;
const FOOTER = `module.exports.ticks = () => __ticks;
module.exports.endAfter = (more) => { __most = __ticks + more; };`;

/** A piece of text to put in at an offset. */
type Insertion = readonly [number, string];

/** The text with a tick at the head of every function and of every turn of a loop. */
export function counting(path: string, text: string): string {
  const file = ts.createSourceFile(path, text, ts.ScriptTarget.Latest, true);
  const insertions: Insertion[] = [];
  const visit = (node: ts.Node): void => {
    const body = bodyOf(node);
    if (body) insertions.push(...into(body, file));
    ts.forEachChild(node, visit);
  };
  visit(file);
  insertions.sort((a, b) => a[0] - b[0]);
  let result = '';
  let from = 0;
  for (const [at, what] of insertions) {
    result += text.slice(from, at) + what;
    from = at;
  }
  return result + text.slice(from);
}

function bodyOf(node: ts.Node): ts.Node | undefined {
  if (ts.isIterationStatement(node, false)) return node.statement;
  return ts.isFunctionLike(node) ? (node as ts.FunctionLikeDeclaration).body : undefined;
}

function into(body: ts.Node, file: ts.SourceFile): Insertion[] {
  if (!ts.isBlock(body)) {
    const isStatement = ts.isStatement(body);
    return [
      [body.getStart(file), isStatement ? `{${TICK};` : `(${TICK},`],
      [body.getEnd(), isStatement ? '}' : ')'],
    ];
  }
  // Behind `'use strict'`, which has to stand first.
  const first = body.statements[0];
  const isDirective = first && ts.isExpressionStatement(first) && ts.isStringLiteral(first.expression);
  return [[isDirective ? first.getEnd() : body.getStart(file) + 1, `;${TICK};`]];
}

const counted: Plugin = {
  name: 'counted',
  setup: ({ onLoad }) => {
    onLoad({ filter: /[\\/](grammar[\\/]src|server|chevrotain|@chevrotain)[\\/].*\.[tj]s$/ }, ({ path }) => ({
      contents: counting(path, readFileSync(path, 'utf8')),
      loader: path.endsWith('.ts') ? 'ts' : 'js',
    }));
  },
};

/** In the project, where what is left out of the bundle is found. */
function newFile(): string {
  mkdirSync(join(ROOT, '.cache'), { recursive: true });
  return join(mkdtempSync(join(ROOT, '.cache/counted-')), 'program.cjs');
}

/**
 * Bundles and loads a program.
 * @param contents a module, its imports relative to the project
 */
export async function countedProgram<T>(contents: string): Promise<T & Ticking> {
  const outfile = newFile();
  await build({
    absWorkingDir: ROOT,
    stdin: { contents, resolveDir: ROOT },
    outfile,
    bundle: true,
    platform: 'node',
    target: 'node20',
    format: 'cjs',
    mainFields: ['module', 'main'],
    banner: { js: BANNER },
    footer: { js: FOOTER },
    external: ['@resvg/resvg-js'],
    logLevel: 'error',
    plugins: [counted],
  });
  const program = createRequire(__filename)(outfile) as T & Ticking;
  rmSync(dirname(outfile), { recursive: true });
  return program;
}
