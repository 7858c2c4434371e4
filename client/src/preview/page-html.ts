/** The preview's HTML: one load, then messages only. Strict content policy: scripts by nonce, styles from our folder, nothing else. */
import { say, type WordTable } from '../../../server/core/words/say';

export interface PreviewPageOptions {
  /** `webview.cspSource` */
  readonly cspSource: string;
  /** Fresh for each page. */
  readonly nonce: string;
  readonly scriptUri: string;
  readonly styleUri: string;
  /** BCP 47 tag of the editor's language. */
  readonly language?: string;
  /** Texts in that language; absent for English. */
  readonly words?: WordTable;
}

function attribute(text: string): string {
  return text.replace(/&/g, '&amp;').replace(/"/g, '&quot;').replace(/</g, '&lt;').replace(/>/g, '&gt;');
}

/**
 * The whole page as text. `img-src` allows `blob:` and `data:` because a PNG is made by drawing the SVG on a canvas; there is no
 * `unsafe-inline` and no `unsafe-eval`. The page's elements are made by the script.
 */
export function previewHtml(options: PreviewPageOptions): string {
  const { cspSource, nonce, scriptUri, styleUri } = options;
  const policy = [
    `default-src 'none'`,
    `script-src 'nonce-${nonce}'`,
    `style-src ${cspSource}`,
    `img-src ${cspSource} blob: data:`,
    `font-src ${cspSource}`,
  ].join('; ');
  return `<!DOCTYPE html>
<html lang="${attribute(options.language ?? 'en')}">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${attribute(policy)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${attribute(say`Caisson preview`)}</title>
<link rel="stylesheet" href="${attribute(styleUri)}">
</head>
<body>
<div id="caisson-preview" data-words="${attribute(JSON.stringify(options.words ?? {}))}"></div>
<script nonce="${attribute(nonce)}" src="${attribute(scriptUri)}"></script>
</body>
</html>
`;
}
