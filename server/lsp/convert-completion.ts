/** Completion and signature help, as the protocol has them. */
import type { CompletionItem, SignatureHelp } from 'vscode-languageserver';
import { CompletionItemKind, InsertTextFormat, MarkupKind } from 'vscode-languageserver';
import type { TextDocument } from 'vscode-languageserver-textdocument';
import type { Suggestion, SuggestionKind } from '../core/features/completion-draft';
import type { Signature } from '../core/features/signature-help';
import type { ClientFacts } from './client-facts';
import { toLspRange } from './convert';

const SUGGESTION_KIND: Readonly<Record<SuggestionKind, CompletionItemKind>> = {
  keyword: CompletionItemKind.Keyword,
  statement: CompletionItemKind.Snippet,
  property: CompletionItemKind.Property,
  word: CompletionItemKind.EnumMember,
  unit: CompletionItemKind.Unit,
  function: CompletionItemKind.Function,
  metric: CompletionItemKind.Method,
  chamber: CompletionItemKind.Struct,
  door: CompletionItemKind.Interface,
  line: CompletionItemKind.Property,
  input: CompletionItemKind.Field,
  signal: CompletionItemKind.Variable,
  constant: CompletionItemKind.Constant,
  event: CompletionItemKind.Event,
  part: CompletionItemKind.Class,
  file: CompletionItemKind.File,
};

/** Documentation is left to `completionItem/resolve`, which finds it again by `data`. */
export function toLspSuggestion(
  text: TextDocument,
  client: ClientFacts,
  suggestion: Suggestion,
  order: number,
): CompletionItem {
  const snippet = client.snippets && suggestion.snippet !== undefined;
  return {
    label: suggestion.label,
    kind: SUGGESTION_KIND[suggestion.kind],
    detail: suggestion.detail,
    sortText: String(order).padStart(4, '0'),
    filterText: suggestion.label,
    textEdit: {
      range: toLspRange(text, suggestion.replace),
      newText: snippet ? suggestion.snippet! : (suggestion.text ?? suggestion.label),
    },
    insertTextFormat: snippet ? InsertTextFormat.Snippet : InsertTextFormat.PlainText,
    data: suggestion.documentation,
  };
}

export function toLspSignature(client: ClientFacts, signature: Signature): SignatureHelp {
  const documentation = (value: string) =>
    client.markdownSignature ? { kind: MarkupKind.Markdown, value } : plainText(value);
  return {
    signatures: [
      {
        label: signature.label,
        documentation: documentation(signature.documentation),
        parameters: signature.parameters.map((p) => ({ label: [p.start, p.end], documentation: documentation(p.doc) })),
      },
    ],
    activeSignature: 0,
    activeParameter: signature.active,
  };
}

/** Markdown for clients that show plain text only: without marks and with tables as lines. */
export function plainText(markdown: string): string {
  return markdown
    .split('\n')
    .filter((line) => !/^\|[\s:|-]+\|$/.test(line))
    .map((line) =>
      line.startsWith('|')
        ? line
            .slice(1, -1)
            .split('|')
            .map((c) => c.trim())
            .join('  ')
        : line,
    )
    .join('\n')
    .replace(/```\w*\n?/g, '')
    .replace(/[`*]/g, '')
    .replace(/\\([\\`*_{}[\]()#+\-.!|<>&~:@$^=])/g, '$1');
}
