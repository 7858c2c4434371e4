/**
 * A page as one self-contained HTML document: no script but the fixed one that sorts tables (where asked for), nothing from elsewhere, a strict content policy, readable in black and
 * white, printable on A4 and Letter with page numbers and boxes to tick.
 */
import { escapeXml } from '../../diagram/kit/shape';
import type { Page, PageBlock, PageSteps, PageTable } from './page';
import { say } from '../../words/say';

const STYLE = `
:root { color-scheme: light dark; --ink: #1a2229; --ground: #ffffff; --rule: #8a949c; --quiet: #49545d; --blue: #00507f; --green: #005f47; }
@media (prefers-color-scheme: dark) { :root { --ink: #e6eaed; --ground: #171c20; --rule: #66727c; --quiet: #b3bdc5; --blue: #8fc7ee; --green: #8fd9bd; } }
body { font: 15px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--ground); max-width: 62rem; margin: 2rem auto; padding: 0 1.2rem; }
h1 { font-size: 1.6rem; } h2 { font-size: 1.25rem; margin-top: 2rem; border-bottom: 1px solid var(--rule); } h3 { font-size: 1.05rem; }
table { border-collapse: collapse; margin: .6rem 0; width: 100%; } caption { text-align: left; color: var(--quiet); padding: .2rem 0; }
th, td { border: 1px solid var(--rule); padding: .25rem .5rem; text-align: left; vertical-align: top; } td.number, th.number { text-align: right; }
.caution { border: 2px solid var(--ink); padding: .6rem .9rem; margin: 1rem 0; } .caution strong { letter-spacing: .02em; }
ol.steps { list-style-position: outside; } ol.steps li { margin: .45rem 0; } .box { display: inline-block; width: .85em; height: .85em; border: 1.5px solid var(--ink); margin-right: .5em; vertical-align: -.08em; }
.see { display: block; color: var(--quiet); margin-left: 1.5em; } figure { margin: 1rem 0; overflow-x: auto; } figure svg { max-width: 100%; height: auto; }
pre { overflow-x: auto; border: 1px solid var(--rule); padding: .7rem; font: 13px/1.45 ui-monospace, monospace; }
.dark { display: none; } @media (prefers-color-scheme: dark) { .light.paired { display: none; } .dark { display: block; } }
.sortable th button { font: inherit; font-weight: 600; color: inherit; background: none; border: 0; padding: 0; cursor: pointer; text-decoration: underline dotted; }
th[aria-sort=ascending] button::after { content: " ↑"; } th[aria-sort=descending] button::after { content: " ↓"; } nav ul { display: flex; flex-wrap: wrap; gap: .2rem 1.2rem; padding: 0; list-style: none; } a { color: inherit; }
@media screen and (max-width: 52rem) { figure svg { max-width: none; } }
.wide { overflow-x: auto; } td.brief { white-space: nowrap; } pre { tab-size: 2; }
.c-comment { font-style: italic; color: var(--quiet); } .c-keyword, .c-property { font-weight: 600; } .c-number, .c-unit { color: var(--blue); } .c-function { color: var(--green); font-weight: 600; } .c-string { color: var(--green); }
@media print { :root { --ink: #000; --ground: #fff; --rule: #555; --quiet: #222; --blue: #000; --green: #000; } body { font-size: 10.5pt; max-width: none; margin: 0; padding: 0; } nav { display: none; }
.dark { display: none !important; } .light.paired { display: block !important; } figure, .wide { overflow: visible; } figure svg { max-height: 215mm; } table { font-size: 9pt; } th, td { padding: .15rem .35rem; } th button { display: contents; }
pre { font-size: 8pt; overflow: visible; white-space: pre-wrap; overflow-wrap: anywhere; }
h2, h3, caption, thead { break-after: avoid; } tr, li, figure, .caution, table.small { break-inside: avoid; } thead { display: table-header-group; } tbody tr:first-child, tbody tr:nth-child(2), tbody tr:last-child { break-before: avoid; } }
`;

/** A printed page carries the title, the caution and its number, so that a page that is taken to the rig alone still does. */
const pageBoxes = (title: string, caution: string): string => `
@page { margin: 16mm 14mm 21mm; font: 7.5pt sans-serif; @top-left { content: ${cssString(title)}; vertical-align: bottom; padding-bottom: 3mm; }
@bottom-left { content: ${cssString(caution)}; width: 88%; text-align: left; vertical-align: top; padding-top: 3mm; } @bottom-right { content: counter(page) " / " counter(pages); font: 9pt sans-serif; vertical-align: top; padding-top: 3mm; } }
`;

/** A text as a string of CSS inside a page: whatever is not a plain letter, figure or mark is escaped. */
const cssString = (text: string): string =>
  `"${[...text].map((c) => (/[A-Za-z0-9 .,:;-]/.test(c) ? c : `\\${c.codePointAt(0)!.toString(16)} `)).join('')}"`;

/** Tables of this many columns may be wider than a narrow page. */
const WIDE = 3;

/** Cells up to this many characters are not broken, tables up to this many rows stand on one page. */
const BRIEF = 10;
const SMALL = 12;

/** Puts the rows of a table in order by the column whose button is pressed; numbers and times by their size. */
export const SORT_SCRIPT = `
for (const table of document.querySelectorAll('table.sortable')) table.querySelectorAll('thead button').forEach((button, column) => button.addEventListener('click', () => {
  const head = button.parentElement, up = head.getAttribute('aria-sort') !== 'ascending', body = table.tBodies[0];
  const units = { us: 1e-6, ms: 1e-3, s: 1, min: 60, h: 3600, kg: 1, g: 1e-3 };
  const key = (row) => { const text = row.cells[column].textContent, m = /^([-\\u2212]?[0-9.]+(?:e[-+]?[0-9]+)?)(?: (\\S+))?/.exec(text); return m ? Number(m[1].replace('\\u2212', '-')) * (units[m[2]] ?? 1) : text; };
  const order = (a, b) => typeof a === 'number' && typeof b === 'number' ? a - b : String(a).localeCompare(String(b));
  for (const other of table.querySelectorAll('thead th')) other.removeAttribute('aria-sort');
  head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
  [...body.rows].sort((a, b) => (up ? 1 : -1) * order(key(a), key(b))).forEach((row) => body.append(row));
}));
`;

export interface HtmlOptions {
  /** Lets tables that are `sortable` be sorted, by `SORT_SCRIPT`, and nothing else run: its SHA-256, base64. */
  readonly sortScriptHash?: string;
  /** A list of the second-level headings on top. */
  readonly contents?: boolean;
  /** BCP 47 tag of the words. */
  readonly language?: string;
}

/** The whole document. Pictures are put in as they are: they come from this program and hold no script. */
export function pageHtml(page: Page, options: HtmlOptions = {}): string {
  const hash = options.sortScriptHash;
  const scripts = hash === undefined ? '' : `; script-src 'sha256-${hash}'`;
  let sections = 0;
  const blocks = page.blocks.map((block) =>
    blockHtml(block, hash !== undefined, block.kind === 'heading' && block.level === 2 ? `section-${++sections}` : ''),
  );
  return [
    '<!doctype html>',
    `<html lang="${options.language ?? 'en'}">`,
    '<head>',
    '<meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:${scripts}">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${escapeXml(page.title)}</title>`,
    `<style>${STYLE}${pageBoxes(page.title, cautionOf(page))}</style>`,
    '</head>',
    '<body>',
    ...(options.contents ? contentsHtml(page) : []),
    '<main>',
    ...blocks,
    '</main>',
    ...(hash === undefined ? [] : [`<script>${SORT_SCRIPT}</script>`]),
    '</body>',
    '</html>',
    '',
  ].join('\n');
}

const cautionOf = ({ blocks }: Page): string => blocks.find((b) => b.kind === 'caution')?.text ?? '';

function contentsHtml({ blocks }: Page): string[] {
  const heads = blocks.flatMap((block) => (block.kind === 'heading' && block.level === 2 ? [block.text] : []));
  const items = heads.map((head, i) => `<li><a href="#section-${i + 1}">${escapeXml(head)}</a></li>`);
  return ['<nav aria-label="Contents">', '<ul>', ...items, '</ul>', '</nav>'];
}

function blockHtml(block: PageBlock, sorts: boolean, id: string): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level}${id === '' ? '' : ` id="${id}"`}>${escapeXml(block.text)}</h${block.level}>`;
    case 'text':
      return `<p>${escapeXml(block.text)}</p>`;
    case 'caution':
      return `<p class="caution" role="note"><strong>Caution.</strong> ${escapeXml(block.text)}</p>`;
    case 'list':
      return `<ul>\n${block.items.map((item) => `<li>${escapeXml(item)}</li>`).join('\n')}\n</ul>`;
    case 'code':
      return `<pre tabindex="0" role="region" aria-label="${escapeXml(block.name)}"><code>${codeHtml(block)}</code></pre>`;
    case 'picture':
      return pictureHtml(block);
    case 'table':
      return tableHtml(block, sorts && block.sortable === true);
    case 'steps':
      return stepsHtml(block);
  }
}

function pictureHtml({ name, alt, svg, dark }: Extract<PageBlock, { kind: 'picture' }>): string {
  const caption = `<figcaption>${escapeXml(alt)}</figcaption>`;
  const light = withOwnIds(svg, name);
  if (dark === undefined) return `<figure tabindex="0">${light}${caption}</figure>`;
  const other = withOwnIds(dark, `${name}-dark`);
  return `<figure tabindex="0"><div class="light paired">${light}</div><div class="dark">${other}</div>${caption}</figure>`;
}

/** A picture whose ids, and what refers to them, differ from those of the other pictures of the page. */
function withOwnIds(svg: string, name: string): string {
  const own = (ids: string): string => ids.replace(/\S+/g, (id) => `${name}.${id}`);
  return svg
    .replace(/ (id|aria-labelledby|aria-describedby)="([^"]*)"/g, (_, attribute, ids) => ` ${attribute}="${own(ids)}"`)
    .replace(/(url\(|href=")#/g, (start) => `${start}${name}.`);
}

function codeHtml({ text, colours = [] }: Extract<PageBlock, { kind: 'code' }>): string {
  let at = 0;
  const pieces: string[] = [];
  for (const { start, end, type } of colours) {
    if (start < at) continue;
    pieces.push(
      escapeXml(text.slice(at, start)),
      `<span class="c-${type}">${escapeXml(text.slice(start, end))}</span>`,
    );
    at = end;
  }
  return [...pieces, escapeXml(text.slice(at))].join('');
}

function tableHtml({ caption, columns, rows, numeric = [], widths = [] }: PageTable, sortable: boolean): string {
  const mark = (i: number, cell: string | null = null) => {
    const classes = [numeric.includes(i) ? 'number' : '', cell !== null && cell.length <= BRIEF ? 'brief' : ''];
    const named = classes.filter((c) => c !== '');
    return named.length === 0 ? '' : ` class="${named.join(' ')}"`;
  };
  const head = columns
    .map(
      (name, i) =>
        `<th scope="col"${mark(i)}>${sortable ? `<button type="button">${escapeXml(name)}</button>` : escapeXml(name)}</th>`,
    )
    .join('');
  const lines = (cell: string) => escapeXml(cell).replaceAll('\n', '<br>');
  const body = rows.map(
    (row) => `<tr>${row.map((cell, i) => `<td${mark(i, cell)}>${lines(cell)}</td>`).join('')}</tr>`,
  );
  const classes = [sortable ? 'sortable' : '', rows.length <= SMALL ? 'small' : ''].filter((c) => c !== '');
  const open = classes.length === 0 ? '<table>' : `<table class="${classes.join(' ')}">`;
  const widthsHtml =
    widths.length === 0 ? '' : `<colgroup>${widths.map((w) => `<col style="width: ${w}%">`).join('')}</colgroup>\n`;
  const table = `${open}\n<caption>${escapeXml(caption)}</caption>\n${widthsHtml}<thead><tr>${head}</tr></thead>\n<tbody>\n${body.join('\n')}\n</tbody>\n</table>`;
  if (columns.length < WIDE) return table;
  // Scrolls by itself where the page is narrow, by keyboard too; the page does not.
  return `<div class="wide" role="group" tabindex="0" aria-label="${escapeXml(caption)}">\n${table}\n</div>`;
}

function stepsHtml({ items }: PageSteps): string {
  const lines = items.map(
    ({ todo, see }) =>
      `<li><span class="box" aria-hidden="true"></span>${escapeXml(todo)}${see === '' ? '' : `<span class="see">${escapeXml(say`See: ${see}`)}</span>`}</li>`,
  );
  return `<ol class="steps">\n${lines.join('\n')}\n</ol>`;
}
