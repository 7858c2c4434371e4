/** Problems, their fixes and edits of texts, as the protocol has them. */
import type { CodeAction, Diagnostic, TextEdit as LspTextEdit, WorkspaceEdit } from 'vscode-languageserver';
import { CodeActionKind, DiagnosticSeverity, DiagnosticTag } from 'vscode-languageserver';
import type { TextDocument } from 'vscode-languageserver-textdocument';
import type { QuickFix } from '../core/features/code-actions';
import type { Problem, Severity, TextEdit } from '../core/model/problem';
import type { ClientFacts } from './client-facts';
import { type OffsetRange, toLspLocation, toLspRange, type TextOf } from './convert';
import { say } from '../core/words/say';

const SEVERITY: Readonly<Record<Severity, DiagnosticSeverity>> = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  information: DiagnosticSeverity.Information,
  hint: DiagnosticSeverity.Hint,
};

export function toLspDiagnostic(text: TextDocument, textOf: TextOf, client: ClientFacts, problem: Problem): Diagnostic {
  const related = client.relatedInformation ? problem.related : undefined;
  return {
    range: toLspRange(text, visible(text, problem.at)),
    severity: SEVERITY[problem.severity],
    code: problem.code,
    source: 'caisson',
    message: client.relatedInformation ? problem.message : withRelated(problem, textOf),
    ...(client.codeDescription && client.reference
      ? { codeDescription: { href: codeLink(client.reference, problem.code) } }
      : {}),
    ...(client.unnecessaryTag && problem.unnecessary ? { tags: [DiagnosticTag.Unnecessary] } : {}),
    ...(related && related.length > 0
      ? { relatedInformation: related.map((r) => ({ location: toLspLocation(textOf, r.at), message: r.message })) }
      : {}),
  };
}

/** The section of a code in the language reference: `door/overlap` → `#door-overlap`. */
export function codeLink(reference: string, code: string): string {
  return `${reference}#${code.replace('/', '-')}`;
}

/** Clients that cannot show related places get them as lines of the message. */
function withRelated(problem: Problem, textOf: TextOf): string {
  const lines = (problem.related ?? []).map((r) => {
    const line = textOf(r.at.uri)?.positionAt(r.at.start).line;
    return line === undefined ? r.message : say`${r.message} (line ${line + 1})`;
  });
  return [problem.message, ...lines].join('\n');
}

/** An empty place is widened by one character within its line, so that there is something to underline. */
function visible(text: TextDocument, at: OffsetRange): OffsetRange {
  if (at.end > at.start) return at;
  const content = text.getText();
  const next = content[at.start];
  if (next !== undefined && next !== '\n' && next !== '\r') return { start: at.start, end: at.start + 1 };
  const before = content[at.start - 1];
  if (before !== undefined && before !== '\n' && before !== '\r') return { start: at.start - 1, end: at.start };
  return at;
}

// ---------------------------------------------------------------- edits

export function toLspEdit(
  text: TextDocument,
  edit: { readonly span: OffsetRange; readonly text: string },
): LspTextEdit {
  return { range: toLspRange(text, edit.span), newText: edit.text };
}

/** What edits in several files need to know. */
export interface EditedTexts {
  readonly textOf: TextOf;
  /** Version of an open document, null for a file that is not open. */
  versionOf(uri: string): number | null;
}

/** Edits in several files; versions are named where the client checks them. */
export function toLspWorkspaceEdit(texts: EditedTexts, client: ClientFacts, edits: readonly TextEdit[]): WorkspaceEdit {
  const changes: Record<string, LspTextEdit[]> = {};
  for (const edit of edits) {
    const text = texts.textOf(edit.at.uri);
    if (text) (changes[edit.at.uri] ??= []).push({ range: toLspRange(text, edit.at), newText: edit.text });
  }
  if (!client.documentChanges) return { changes };
  const documentChanges = Object.entries(changes).map(([uri, list]) => ({
    textDocument: { uri, version: texts.versionOf(uri) },
    edits: list,
  }));
  return { documentChanges };
}

export function toLspQuickFix(fix: QuickFix, edit: WorkspaceEdit, diagnostic: Diagnostic): CodeAction {
  return {
    title: fix.title,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnostic],
    isPreferred: fix.preferred,
    edit,
  };
}

/** An action that cannot be taken, for the reason why. */
export function toLspNoFix(problem: Problem, because: string, diagnostic: Diagnostic): CodeAction {
  return {
    title: say`No quick fix for ${problem.code}`,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnostic],
    disabled: { reason: say`No quick fix because ${because}.` },
  };
}

/** Quick fixes that were not tried because the part of the text that was asked about has too many. */
export function toLspNotTried(problems: number): CodeAction {
  return {
    title: problems === 1 ? say`1 more problem with quick fixes` : say`${problems} more problems with quick fixes`,
    kind: CodeActionKind.QuickFix,
    disabled: { reason: say`Not all quick fixes of a long selection are tried: select less of the text.` },
  };
}
