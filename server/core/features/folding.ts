/** Ranges that can be folded: braces, runs of comment lines, `#region` … `#endregion`. Needs the parsed phase. */
import type { Token } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';
import { formatCount } from '../units/units';

export interface Fold {
  /** First and last offset; the first line stays visible. */
  readonly start: number;
  readonly end: number;
  readonly kind: 'block' | 'comment' | 'region' | 'imports';
  /** Shown in place of the folded text. */
  readonly summary: string;
}

/** All folds of a document in order of their start; folds within one line are left out. */
export function foldsOf(document: RigDocument): Fold[] {
  const { tokens, tree } = document.parsed();
  const folds = [
    ...braceFolds(tokens, document.text),
    ...commentFolds(tokens, document.text),
    ...regionFolds(tokens),
    ...importFold(tree.statements.filter((s) => s.kind === 'import').map((s) => s.span)),
  ];
  const text = document.text;
  return folds.filter((f) => /\n|\r/.test(text.slice(f.start, f.end))).sort((a, b) => a.start - b.start);
}

function braceFolds(tokens: readonly Token[], text: string): Fold[] {
  const open: Token[] = [];
  const folds: Fold[] = [];
  for (const token of tokens) {
    if (token.text === '{') open.push(token);
    if (token.text !== '}') continue;
    const from = open.pop();
    if (!from) continue;
    const inside = text.slice(from.span.end, token.span.start);
    folds.push({ start: from.span.start, end: token.span.start, kind: 'block', summary: summaryOf(inside) });
  }
  return folds;
}

/** `{ 3 doors, 4 signals }`, or `{ … }` where there is nothing to count. */
function summaryOf(inside: string): string {
  const count = (keyword: string): number => [...inside.matchAll(new RegExp(`^[ \\t]*${keyword}\\b`, 'gm'))].length;
  const parts = Object.entries({ door: 'door', signal: 'signal', require: 'requirement' })
    .map(([keyword, noun]) => ({ noun, n: count(keyword) }))
    .filter(({ n }) => n > 0)
    .map(({ noun, n }) => formatCount(n, noun));
  return parts.length > 0 ? `{ ${parts.join(', ')} }` : '{ … }';
}

/** Comments that follow each other on lines of their own. */
function commentFolds(tokens: readonly Token[], text: string): Fold[] {
  const folds: Fold[] = [];
  let run: Token[] = [];
  const close = (): void => {
    const [first, last] = [run[0], run.at(-1)];
    if (first && last && run.length > 1) {
      folds.push({ start: first.span.start, end: last.span.end, kind: 'comment', summary: first.text });
    }
    run = [];
  };
  for (const token of tokens) {
    if (token.kind === 'newline') continue;
    const own = token.kind === 'comment' && !isRegionMark(token.text) && startsLine(text, token.span.start);
    const previous = run.at(-1);
    if (!own || (previous && hasBlankLine(text.slice(previous.span.end, token.span.start)))) close();
    if (own) run.push(token);
  }
  close();
  return folds;
}

function hasBlankLine(text: string): boolean {
  return (text.match(/\r\n|\n|\r/g) ?? []).length > 1;
}

function startsLine(text: string, offset: number): boolean {
  const before = text.slice(Math.max(0, text.lastIndexOf('\n', offset - 1) + 1), offset);
  return before.trim() === '';
}

function isRegionMark(text: string): boolean {
  return /^#\s*(end)?region\b/.test(text);
}

function regionFolds(tokens: readonly Token[]): Fold[] {
  const open: Token[] = [];
  const folds: Fold[] = [];
  for (const token of tokens) {
    if (token.kind !== 'comment') continue;
    if (/^#\s*region\b/.test(token.text)) open.push(token);
    if (!/^#\s*endregion\b/.test(token.text)) continue;
    const from = open.pop();
    if (!from) continue;
    const summary = from.text.replace(/^#\s*region\s*/, '').trim() || 'region';
    folds.push({ start: from.span.start, end: token.span.end, kind: 'region', summary });
  }
  return folds;
}

function importFold(spans: readonly { start: number; end: number }[]): Fold[] {
  const [first, last] = [spans[0], spans.at(-1)];
  if (!first || !last || spans.length < 2) return [];
  return [{ start: first.start, end: last.end, kind: 'imports', summary: `${spans.length} imports` }];
}
