/** Small pieces of Markdown. Names and comments of the text are never taken as markup. */

/** Joins what is not empty, each as a paragraph of its own. */
export function paragraphs(...parts: readonly string[]): string {
  return parts.filter((p) => p !== '').join('\n\n');
}

/** Inline code; backticks inside are kept readable. */
export function code(text: string): string {
  const ticks = text.includes('`') ? '``' : '`';
  return `${ticks}${text}${ticks}`;
}

/** Text of the user's, shown as written. */
export function escaped(text: string): string {
  return text.replace(/[\\`*_{}[\]()#+\-.!|<>]/g, '\\$&');
}

/** A table; cells are plain text or inline code. Empty without rows. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  if (rows.length === 0) return '';
  const line = (cells: readonly string[]): string => `| ${cells.map((c) => c.replace(/\|/g, '\\|')).join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
}
