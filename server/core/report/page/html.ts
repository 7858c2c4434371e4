/**
 * A page as one self-contained HTML document: no script, nothing from elsewhere, a strict content policy, readable in black and
 * white, printable on A4 and Letter with page numbers and boxes to tick.
 */
import { escapeXml } from '../../diagram/kit/shape';
import type { Page, PageBlock, PageSteps, PageTable } from './page';

const STYLE = `
:root { color-scheme: light dark; --ink: #1a2229; --ground: #ffffff; --rule: #8a949c; --quiet: #49545d; }
@media (prefers-color-scheme: dark) { :root { --ink: #e6eaed; --ground: #171c20; --rule: #66727c; --quiet: #b3bdc5; } }
body { font: 15px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--ground); max-width: 62rem; margin: 2rem auto; padding: 0 1.2rem; }
h1 { font-size: 1.6rem; } h2 { font-size: 1.25rem; margin-top: 2rem; border-bottom: 1px solid var(--rule); } h3 { font-size: 1.05rem; }
table { border-collapse: collapse; margin: .6rem 0; width: 100%; } caption { text-align: left; color: var(--quiet); padding: .2rem 0; }
th, td { border: 1px solid var(--rule); padding: .25rem .5rem; text-align: left; vertical-align: top; } td.number, th.number { text-align: right; }
.caution { border: 2px solid var(--ink); padding: .6rem .9rem; margin: 1rem 0; } .caution strong { letter-spacing: .02em; }
ol.steps { list-style-position: outside; } ol.steps li { margin: .45rem 0; } .box { display: inline-block; width: .85em; height: .85em; border: 1.5px solid var(--ink); margin-right: .5em; vertical-align: -.08em; }
.see { display: block; color: var(--quiet); margin-left: 1.5em; } figure { margin: 1rem 0; overflow-x: auto; } figure svg { max-width: 100%; height: auto; }
pre { overflow-x: auto; border: 1px solid var(--rule); padding: .7rem; font: 13px/1.45 ui-monospace, monospace; }
.dark { display: none; } @media (prefers-color-scheme: dark) { .light.paired { display: none; } .dark { display: block; } }
@page { margin: 16mm 14mm 18mm; @bottom-right { content: counter(page) " / " counter(pages); font: 9pt sans-serif; } }
@media print { :root { --ink: #000; --ground: #fff; --rule: #555; --quiet: #222; } body { font-size: 10.5pt; max-width: none; margin: 0; padding: 0; } .dark { display: none !important; } .light.paired { display: block !important; } h2, h3 { break-after: avoid; } tr, li, figure { break-inside: avoid; } thead { display: table-header-group; } }
`;

export interface HtmlOptions {
  /** BCP 47 tag of the words. */
  readonly language?: string;
}

/** The whole document. Pictures are put in as they are: they come from this program and hold no script. */
export function pageHtml(page: Page, options: HtmlOptions = {}): string {
  return [
    '<!doctype html>',
    `<html lang="${options.language ?? 'en'}">`,
    '<head>',
    '<meta charset="utf-8">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">`,
    '<meta name="viewport" content="width=device-width, initial-scale=1">',
    `<title>${escapeXml(page.title)}</title>`,
    `<style>${STYLE}</style>`,
    '</head>',
    '<body>',
    '<main>',
    ...page.blocks.map(blockHtml),
    '</main>',
    '</body>',
    '</html>',
    '',
  ].join('\n');
}

function blockHtml(block: PageBlock): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level}>${escapeXml(block.text)}</h${block.level}>`;
    case 'text':
      return `<p>${escapeXml(block.text)}</p>`;
    case 'caution':
      return `<p class="caution" role="note"><strong>Caution.</strong> ${escapeXml(block.text)}</p>`;
    case 'list':
      return `<ul>\n${block.items.map((item) => `<li>${escapeXml(item)}</li>`).join('\n')}\n</ul>`;
    case 'code':
      return `<pre tabindex="0"><code>${escapeXml(block.text)}</code></pre>`;
    case 'picture':
      return pictureHtml(block);
    case 'table':
      return tableHtml(block);
    case 'steps':
      return stepsHtml(block);
  }
}

function pictureHtml({ alt, svg, dark }: Extract<PageBlock, { kind: 'picture' }>): string {
  const caption = `<figcaption>${escapeXml(alt)}</figcaption>`;
  if (dark === undefined) return `<figure tabindex="0">${svg}${caption}</figure>`;
  return `<figure tabindex="0"><div class="light paired">${svg}</div><div class="dark">${dark}</div>${caption}</figure>`;
}

function tableHtml({ caption, columns, rows, numeric = [] }: PageTable): string {
  const mark = (i: number) => (numeric.includes(i) ? ' class="number"' : '');
  const head = columns.map((name, i) => `<th scope="col"${mark(i)}>${escapeXml(name)}</th>`).join('');
  const body = rows.map((row) => `<tr>${row.map((cell, i) => `<td${mark(i)}>${escapeXml(cell)}</td>`).join('')}</tr>`);
  return `<table>\n<caption>${escapeXml(caption)}</caption>\n<thead><tr>${head}</tr></thead>\n<tbody>\n${body.join('\n')}\n</tbody>\n</table>`;
}

function stepsHtml({ items }: PageSteps): string {
  const lines = items.map(
    ({ todo, see }) =>
      `<li><span class="box" aria-hidden="true"></span>${escapeXml(todo)}${see === '' ? '' : `<span class="see">See: ${escapeXml(see)}</span>`}</li>`,
  );
  return `<ol class="steps">\n${lines.join('\n')}\n</ol>`;
}
