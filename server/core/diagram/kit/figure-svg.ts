/** A figure as an SVG file: its ground and its title around the shapes. */
import { paletteOf, type Look } from './palette';
import { renderShape, shape, textShape, type Figure } from './shape';

/** SVG text with a line end. `title` is the accessible name. */
export function figureSvg(figure: Figure, look: Look, title: string): string {
  const width = Math.ceil(figure.width);
  const height = Math.ceil(figure.height);
  const palette = paletteOf(look);
  const root = {
    xmlns: 'http://www.w3.org/2000/svg',
    width,
    height,
    viewBox: `0 0 ${width} ${height}`,
    role: 'img',
    'font-family': palette.fontFamily,
  };
  const ground = shape('rect', 'paper', { width, height, fill: palette.background });
  return (
    renderShape(shape('svg', 'svg', root, [textShape('title', 'title', {}, title), ground, ...figure.shapes])) + '\n'
  );
}
