/** Ranges for growing a selection: token → term → clause → statement → block → rig → file. Needs the parsed phase. */
import type { Expression, Span, Statement } from '../../../grammar/src/ast';
import type { RigDocument } from '../document/document';

/** Ranges around `offset`, innermost first; each contains the one before and is larger. */
export function selectionRanges(document: RigDocument, offset: number): Span[] {
  const { tokens, tree } = document.parsed();
  const token = tokens.find((t) => t.kind !== 'newline' && offset >= t.span.start && offset <= t.span.end);
  const spans: Span[] = token ? [token.span] : [];
  collect(tree.statements, offset, spans);
  spans.push({ start: 0, end: document.text.length });
  return nested(spans);
}

/** Sorts by size and keeps those that really contain the one before. */
function nested(spans: Span[]): Span[] {
  const sorted = [...spans].sort((a, b) => a.end - a.start - (b.end - b.start));
  const kept: Span[] = [];
  for (const span of sorted) {
    const inner = kept.at(-1);
    if (!inner || (contains(span, inner) && length(span) > length(inner))) kept.push(span);
  }
  return kept;
}

function collect(value: unknown, offset: number, spans: Span[]): void {
  if (Array.isArray(value)) {
    for (const part of value) collect(part, offset, spans);
    return;
  }
  if (typeof value !== 'object' || value === null) return;
  const { span, bodySpan, argsSpan } = value as Partial<Record<'span' | 'bodySpan' | 'argsSpan', Span>>;
  if (span && !covers(span, offset)) return;
  if (span) spans.push(span);
  if (argsSpan && covers(argsSpan, offset)) spans.push(argsSpan);
  if (bodySpan && covers(bodySpan, offset)) {
    spans.push(bodySpan, { start: bodySpan.start + 1, end: Math.max(bodySpan.start + 1, bodySpan.end - 1) });
  }
  for (const part of Object.values(value as Statement | Expression)) collect(part, offset, spans);
}

function covers(span: Span, offset: number): boolean {
  return offset >= span.start && offset <= span.end;
}

function contains(outer: Span, inner: Span): boolean {
  return outer.start <= inner.start && outer.end >= inner.end;
}

function length(span: Span): number {
  return span.end - span.start;
}
