/** Formatting as the small edits the language's formatter gives, so that cursors and marks in untouched text stay where they are. */
import { formatEdits, formatRange as rangeEdits, formatRangeSteps, formatSteps } from '../../../grammar/src/api';
import type { Span } from '../../../grammar/src/ast';
import type { Work } from '../work/work';

/** Replace `span` of the text by `text`. */
export interface FormatEdit {
  readonly span: Span;
  readonly text: string;
}

export interface FormatResult {
  readonly edits: readonly FormatEdit[];
  /** Why the text is left as it is, or null. */
  readonly refused: string | null;
}

/** Edits that format the whole text; none where it is formatted already or cannot be without loss. */
export function formatDocument(text: string): FormatResult {
  const { edits, reason } = formatEdits(text);
  return { edits: edits ?? [], refused: reason };
}

/** Edits that format the lines `range` touches. */
export function formatRange(text: string, range: Span): FormatResult {
  const { edits, reason } = rangeEdits(text, range);
  return { edits: edits ?? [], refused: reason };
}

/** The edits of `formatDocument` in steps. */
export function* formatWork(text: string): Work<readonly FormatEdit[]> {
  return (yield* formatSteps(text)).edits ?? [];
}

/** The edits of `formatRange` in steps. */
export function* formatRangeWork(text: string, range: Span): Work<readonly FormatEdit[]> {
  return (yield* formatRangeSteps(text, range)).edits ?? [];
}
