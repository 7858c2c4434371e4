/** A page as Markdown (CommonMark with tables). Text of the rig is escaped: nothing in it becomes markup, a link or a picture. */
import type { Page, PageBlock, PageSteps, PageTable } from './page';
import { say } from '../../words/say';

/** A text as Markdown that shows exactly this text, in one line. */
export function escapeMarkdown(text: string): string {
  return text
    .replace(/[\r\n\t]+/g, ' ')
    .replace(/[\\`*_[\]<>&|#~!]/g, (character) =>
      character === '<' ? '&lt;' : character === '&' ? '&amp;' : `\\${character}`,
    )
    .replace(/:\/\//g, '\\://')
    .replace(/\bwww\./gi, (www) => `${www.slice(0, 3)}\\.`)
    .replace(/^(\s*)([-+])(\s)/, '$1\\$2$3')
    .replace(/^(\s*\d+)([.)])(\s)/, '$1\\$2$3');
}

/** The whole text, ending with a line end. Pictures are named by their files, which `pictures` gives (or left out). */
export function pageMarkdown(page: Page, pictureFile?: (name: string) => string): string {
  const blocks = page.blocks.map((block) => blockMarkdown(block, pictureFile)).filter((block) => block !== '');
  return blocks.join('\n\n') + '\n';
}

function blockMarkdown(block: PageBlock, pictureFile?: (name: string) => string): string {
  switch (block.kind) {
    case 'heading':
      return `${'#'.repeat(block.level)} ${escapeMarkdown(block.text)}`;
    case 'text':
      return escapeMarkdown(block.text);
    case 'caution':
      return say`> **Caution.** ${escapeMarkdown(block.text)}`;
    case 'list':
      return block.items.map((item) => `- ${escapeMarkdown(item)}`).join('\n');
    case 'code':
      return fenced(block.text);
    case 'picture':
      return pictureFile ? `![${escapeMarkdown(block.alt)}](${encodeURI(pictureFile(block.name))})` : '';
    case 'table':
      return tableMarkdown(block);
    case 'steps':
      return stepsMarkdown(block);
  }
}

/** A fence longer than any run of backticks inside. */
function fenced(text: string): string {
  const longest = Math.max(2, ...[...text.matchAll(/`+/g)].map((run) => run[0].length));
  const fence = '`'.repeat(longest + 1);
  return `${fence}rig\n${text.replace(/\n$/, '')}\n${fence}`;
}

function tableMarkdown({ caption, columns, rows, numeric = [] }: PageTable): string {
  const line = (cells: readonly string[]) =>
    `| ${cells.map((cell) => escapeMarkdown(cell.replaceAll('\n', '; '))).join(' | ')} |`;
  const rule = `|${columns.map((_, i) => (numeric.includes(i) ? '---:' : '---')).join('|')}|`;
  return [`**${escapeMarkdown(caption)}**`, '', line(columns), rule, ...rows.map(line)].join('\n');
}

function stepsMarkdown({ items }: PageSteps): string {
  return items
    .map(
      ({ todo, see }, i) =>
        `${i + 1}. [ ] ${escapeMarkdown(todo)}${see === '' ? '' : `  \n   ${say`See: ${escapeMarkdown(see)}`}`}`,
    )
    .join('\n');
}
