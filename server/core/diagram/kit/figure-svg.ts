/** A figure as an SVG file: its ground and its title around the shapes. */
import { paletteOf, type Look } from './palette';
import { renderShape, shape, textShape, type Figure, type Shape } from './shape';

/** SVG text with a line end. `title` is the accessible name. */
export function figureSvg(figure: Figure, look: Look, title: string): string {
  const size = { width: Math.ceil(figure.width), height: Math.ceil(figure.height) };
  const ground = shape('rect', 'paper', { ...size, fill: paletteOf(look).background });
  return svgText(size, look, title, [ground, ...figure.shapes]);
}

/** An SVG file of a size in pixels. */
export function svgText(
  { width, height }: { readonly width: number; readonly height: number },
  look: Look,
  title: string,
  shapes: readonly Shape[],
): string {
  const root = {
    xmlns: 'http://www.w3.org/2000/svg',
    width,
    height,
    viewBox: `0 0 ${width} ${height}`,
    role: 'img',
    'font-family': paletteOf(look).fontFamily,
  };
  return renderShape(shape('svg', 'svg', root, [textShape('title', 'title', {}, title), ...shapes])) + '\n';
}
