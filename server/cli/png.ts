/** SVG to PNG by resvg, with fonts that come with the program, so that text looks the same on every machine. */
import { dirname, join } from 'node:path';
import type { Resvg as ResvgClass } from '@resvg/resvg-js';
import { UsageError } from './io';

/** Twice the pixels of `width`, for sharp print. */
export async function svgToPng(svg: string, width: number): Promise<Uint8Array> {
  const { Resvg } = await loadResvg();
  const fonts = fontFiles();
  const image = new Resvg(svg, {
    fitTo: { mode: 'width', value: width * 2 },
    font: {
      loadSystemFonts: fonts.length === 0,
      fontFiles: fonts,
      defaultFontFamily: 'DejaVu Sans',
      sansSerifFamily: 'DejaVu Sans',
      monospaceFamily: 'DejaVu Sans Mono',
    },
  });
  return image.render().asPng();
}

async function loadResvg(): Promise<{ Resvg: typeof ResvgClass }> {
  try {
    return await import('@resvg/resvg-js');
  } catch {
    throw new UsageError('PNG needs the package @resvg/resvg-js, which is not installed here; write SVG instead.');
  }
}

function fontFiles(): string[] {
  try {
    const folder = join(dirname(require.resolve('dejavu-fonts-ttf/package.json')), 'ttf');
    return ['DejaVuSans.ttf', 'DejaVuSans-Bold.ttf', 'DejaVuSansMono.ttf'].map((name) => join(folder, name));
  } catch {
    return [];
  }
}
