/** The curves of a store model as a file: SVG text with its ground and title. */
import type { Look } from '../kit/palette';
import { svgText } from '../kit/figure-svg';
import { paletteOf } from '../kit/palette';
import { shape, textShape } from '../kit/shape';
import { fitText } from '../kit/text-width';
import { drawStore, storeRange } from './svg';
import type { StoreModel } from './model';

/** Space for the title above the charts, px. */
const TITLE = 48;

export function renderStoreSvg(
  model: StoreModel,
  { look, width }: { readonly look: Look; readonly width: number },
): string {
  const figure = drawStore(model, { look, width, ...storeRange(model), idPrefix: 's-' });
  const palette = paletteOf(look);
  const height = figure.height + TITLE;
  const title = `${model.title}: ${model.subtitle}`;
  const [name, run] = [fitText(model.title, 14, width - 32), fitText(model.subtitle, 11, width - 32)];
  return svgText({ width, height }, look, title, [
    shape('rect', 'ground', { x: 0, y: 0, width, height, fill: palette.background }),
    textShape('text', 'heading', { x: 16, y: 22, fill: palette.ink, 'font-size': 14, 'font-weight': 600 }, name),
    textShape('text', 'run', { x: 16, y: 38, fill: palette.muted, 'font-size': 11 }, run),
    shape('g', 'charts', { transform: `translate(0 ${TITLE})` }, figure.shapes),
  ]);
}
