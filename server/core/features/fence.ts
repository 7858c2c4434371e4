/**
 * Drawing of a fenced `rig` block of a Markdown text, as a pure function of its text: what the Markdown preview shows.
 */
import { createDocument, type RigDocument } from '../document/document';
import { timingModels } from '../diagram/timing/model';
import { renderTimingSvg } from '../diagram/timing/svg';

/**
 * The timing diagram of each rig of a block as SVG, in colours that read on any ground; null where the block is a fragment
 * (no rig, or text with mistakes). Blocks cannot import: a Markdown preview has no files. `idPrefix` keeps pictures of one page apart.
 */
export function drawFence(text: string, idPrefix: string): string | null {
  const document = createDocument({ uri: 'fence:rig', version: 1, text }, () => undefined);
  if (!isSound(document)) return null;
  const pictures = document.analysed().map((facts, i) => {
    const model = timingModels(facts)[0]!;
    return renderTimingSvg(model, { look: 'theme', width: 860, idPrefix: `${idPrefix}${i}-` });
  });
  return pictures.length === 0 ? null : pictures.join('\n');
}

function isSound(document: RigDocument): boolean {
  return document.parsed().problems.length === 0 && document.resolved().problems.every((p) => p.severity !== 'error');
}
