/** Curves and plots as files: SVG text with its ground and title. */
import type { Look } from '../kit/palette';
import { svgText } from '../kit/figure-svg';
import { paletteOf } from '../kit/palette';
import { shape, textShape, type Figure } from '../kit/shape';
import { fitText } from '../kit/text-width';
import { drawStore, storeRange } from './svg';
import type { StoreModel } from './model';
import type { PlotModel } from './plot-model';
import { drawPlot } from './plot-svg';

/** Space for the title above the charts, px. */
const TITLE = 48;
/** Height of a figure that has one chart, px. */
const ONE_CHART = 420;

interface FileSize {
  readonly look: Look;
  readonly width: number;
}

export function renderStoreSvg(model: StoreModel, { look, width }: FileSize): string {
  // One stroke has one chart: it takes the room of the two or three of a run.
  const height = model.moments ? ONE_CHART : undefined;
  const view = { look, width, ...storeRange(model), idPrefix: 's-', ...(height === undefined ? {} : { height }) };
  const figure = drawStore(model, view);
  return titled(figure, look, [model.title, model.subtitle], `${model.title}: ${model.subtitle}`);
}

/** The accessible name is the sentence with its numbers. */
export const renderPlotSvg = (model: PlotModel, { look, width }: FileSize): string =>
  titled(
    drawPlot(model, { look, width, idPrefix: 's-' }),
    look,
    [model.title, model.subtitle],
    `${model.title}: ${model.sentence}`,
  );

function titled(figure: Figure, look: Look, words: readonly [string, string], name: string): string {
  const { width } = figure;
  const palette = paletteOf(look);
  const height = figure.height + TITLE;
  const [title, run] = [fitText(words[0], 14, width - 32), fitText(words[1], 11, width - 32)];
  return svgText({ width, height }, look, name, [
    shape('rect', 'ground', { x: 0, y: 0, width, height, fill: palette.background }),
    textShape('text', 'heading', { x: 16, y: 22, fill: palette.ink, 'font-size': 14, 'font-weight': 600 }, title),
    textShape('text', 'run', { x: 16, y: 38, fill: palette.muted, 'font-size': 11 }, run),
    shape('g', 'charts', { transform: `translate(0 ${TITLE})` }, figure.shapes),
  ]);
}
