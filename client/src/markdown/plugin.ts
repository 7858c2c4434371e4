/** Draws fenced `rig` blocks in the editor's built-in Markdown preview: the picture above, the text below it as before. */
import { commands, workspace } from 'vscode';
import { SETTINGS_SECTION } from '../../../server/protocol/settings';
import type { DrawFence, Platform } from '../platform';

interface FenceToken {
  readonly info: string;
  readonly content: string;
}
type FenceRule = (tokens: FenceToken[], index: number, ...rest: unknown[]) => string;

/** The part of markdown-it that is used. */
export interface MarkdownIt {
  readonly renderer: { readonly rules: { fence?: FenceRule } };
}

/** The function that the built-in Markdown extension calls with its markdown-it. */
export function createMarkdownPlugin(platform: Platform): (markdown: MarkdownIt) => MarkdownIt {
  const drawing = lazyDrawing(platform);
  return (markdown) => {
    const before = markdown.renderer.rules.fence;
    markdown.renderer.rules.fence = (tokens, index, ...rest) => {
      const text = before?.(tokens, index, ...rest) ?? '';
      const token = tokens[index]!;
      if (languageOf(token.info) !== 'rig' || !isWanted()) return text;
      const picture = drawing()?.(token.content, `rig${index}-`) ?? null;
      return picture === null ? text : `<figure class="caisson-rig">${picture}</figure>\n${text}`;
    };
    return markdown;
  };
}

/** The drawing function, or null while it is being loaded: the preview is drawn again when it is there. */
function lazyDrawing(platform: Platform): () => DrawFence | null {
  let draw: DrawFence | null = null;
  let asked = false;
  return () => {
    if (asked) return draw;
    asked = true;
    const loaded = platform.loadDrawFence();
    if (typeof loaded === 'function') draw = loaded;
    else void loaded.then((there) => ((draw = there), commands.executeCommand('markdown.preview.refresh')));
    return draw;
  };
}

/** First word of the line that opens a fence. */
function languageOf(info: string): string {
  return info
    .trim()
    .split(/[\s{,]/)[0]!
    .toLowerCase();
}

function isWanted(): boolean {
  return workspace.getConfiguration(SETTINGS_SECTION).get('markdown.drawRigs', true);
}
