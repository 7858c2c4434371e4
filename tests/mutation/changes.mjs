/** Small changes to the sources (an operator, a condition, a constant, a statement left out), by area, and the blocks that they stand in. */
import { existsSync, readdirSync } from 'node:fs';
import path from 'node:path';
import ts from 'typescript';

/** Where changes are made, by area. */
export const AREAS = {
  timing: ['server/core/timing'],
  checks: ['server/core/checks'],
  flow: ['server/core/flow'],
  proof: ['server/core/proof'],
  format: [
    'server/core/features/format',
    'server/core/document/apply-edits',
    'server/core/model/resolve',
    'server/core/units',
  ],
};

/** Mulberry32: the same sample for the same seed on every machine. */
export const random = (seed) => () => {
  seed = (seed + 0x6d2b79f5) | 0;
  let mixed = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
  return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
};

export const sourcesBelow = (place) => {
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
export function changesOf(file, text) {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.Latest, true);
  const changes = [];
  /** `whole`: the expression or statement that is another by the change. */
  const add = (node, replacement, whole = node) => {
    const [start, end] = [node.getStart(source), node.getEnd()];
    const [from, to] = [whole.getStart(source), whole.getEnd()];
    const isStatement = ts.isExpressionStatement(whole);
    changes.push({ start, end, text: replacement, whole: { start: from, end: to, isStatement } });
  };
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
      if (!joinsText) add(node.operatorToken, swapped.get(node.operatorToken.kind), node);
    }
    if (ts.isIfStatement(node)) add(node.expression, `!(${node.expression.getText(source)})`);
    if (ts.isConditionalExpression(node)) add(node.condition, `!(${node.condition.getText(source)})`);
    if (node.kind === kinds.TrueKeyword) add(node, 'false');
    if (node.kind === kinds.FalseKeyword) add(node, 'true');
    if (ts.isNumericLiteral(node) && node.parent.name !== node) add(node, `(${node.text} + 1)`);
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

/**
 * The text with a note of every block that is entered, on the same lines: what a block is, and its number, is the same for the text without
 * the notes. `notes` numbers the blocks from `first` on.
 */
export function noting(file, text, first) {
  const blocks = blocksOf(file, text);
  const insertions = blocks.flatMap(({ at, closes }, k) =>
    closes === null
      ? [[at, `;__noted[${first + k}]=1;`]]
      : [
          [at, `(__noted[${first + k}]=1,`],
          [closes, ')'],
        ],
  );
  insertions.sort((a, b) => a[0] - b[0]);
  let noted = 'const __noted=(globalThis.__noted??=new Uint8Array(1e5));';
  let from = 0;
  for (const [at, what] of insertions) {
    noted += text.slice(from, at) + what;
    from = at;
  }
  return { text: noted + text.slice(from), count: blocks.length };
}

/** Blocks of statements and the bodies of short functions: `at` where a note is put in, `closes` where a short body ends. */
function blocksOf(file, text) {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.Latest, true);
  const blocks = [];
  const walk = (node) => {
    if (ts.isBlock(node))
      blocks.push({ at: node.getStart(source) + 1, closes: null, start: node.getStart(source), end: node.getEnd() });
    if (ts.isArrowFunction(node) && !ts.isBlock(node.body))
      blocks.push({
        at: node.body.getStart(source),
        closes: node.body.getEnd(),
        start: node.body.getStart(source),
        end: node.body.getEnd(),
      });
    ts.forEachChild(node, walk);
  };
  walk(source);
  return blocks;
}

/**
 * The text with all of these changes in it, each made while `globalThis.__changing.now` is its `number`: so one loaded program is every
 * changed one in turn.
 */
export function switchable(text, changes) {
  const nested = [...changes].sort(
    (a, b) => a.whole.start - b.whole.start || b.whole.end - a.whole.end || a.number - b.number,
  );
  let next = 0;
  /** The text between two places, with the changes that lie between them. */
  const written = (from, to) => {
    let [result, at] = ['', from];
    while (next < nested.length && nested[next].whole.end <= to && nested[next].whole.start >= from) {
      const { number, start, end, text: other, whole } = nested[next++];
      const changed = text.slice(whole.start, start) + other + text.slice(end, whole.end);
      const kept = written(whole.start, whole.end);
      result += text.slice(at, whole.start);
      result += whole.isStatement
        ? `{if(__changing.now!==${number}){${kept}}}`
        : `(__changing.now===${number}?(${changed}):(${kept}))`;
      at = whole.end;
    }
    return result + text.slice(at, to);
  };
  return `const __changing=(globalThis.__changing??={now:0,found:{},sure:{}});${written(0, text.length)}`;
}

/** Whether a change acts as its file is loaded, and so in no program that is loaded already. */
export const actsAtLoading = (file, text, { start, end }) =>
  !blocksOf(file, text).some((block) => block.start <= start && end <= block.end);

/** The numbers, from 0 on, of the blocks of a text that a change may be noticed through: the innermost around it, or all where it is in none. */
export function blocksAround(file, text, { start, end }) {
  const blocks = blocksOf(file, text).map((block, k) => ({ ...block, k }));
  const around = blocks.filter((block) => block.start <= start && end <= block.end);
  around.sort((a, b) => a.end - a.start - (b.end - b.start));
  return around.length > 0 ? [around[0].k] : blocks.map(({ k }) => k);
}
