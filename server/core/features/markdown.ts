/** Small pieces of Markdown. Names and comments of the text are never taken as markup. */
import { visible } from '../units/visible';

/** Joins what is not empty, each as a paragraph of its own. */
export function paragraphs(...parts: readonly string[]): string {
  return parts.filter((p) => p !== '').join('\n\n');
}

/** Inline code that nothing inside can end: the fence is longer than the longest run of backticks, line ends become blanks. */
export function code(text: string): string {
  const line = visible(text.replace(/\s*[\r\n]+\s*/g, ' '));
  const longest = Math.max(0, ...[...line.matchAll(/`+/g)].map((run) => run[0].length));
  const ticks = '`'.repeat(longest + 1);
  const pad = line.startsWith('`') || line.endsWith('`') ? ' ' : '';
  return `${ticks}${pad}${line}${pad}${ticks}`;
}

/** Text of the user's, shown as written: every mark that could mean something in Markdown or HTML is escaped. */
export function escaped(text: string): string {
  return visible(text).replace(/[\\`*_{}[\]()#+\-.!|<>&~:@$^=]/g, '\\$&');
}

/** A table; cells are plain text or inline code. Empty without rows. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  if (rows.length === 0) return '';
  const line = (cells: readonly string[]): string =>
    `| ${cells.map((c) => c.replace(/(?<!\\)\|/g, '\\|')).join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}
