/** A picture with sentences below it: what has to be known wherever the picture goes. */

import { escapeXml } from './shape';
import { textWidth } from './text-width';

const SIZE = 12;
const LINE = 15;
/** Above and below the text, and beside it, pixels. */
const MARGIN = 8;

/** The SVG text with a note at its foot, in as many lines as its width asks for; unchanged where there is nothing to say. */
export function noted(svg: string, note: string): string {
  const size = /<svg\b[^>]*\bviewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg);
  if (note === '' || !size) return svg;
  const [head, width, height] = [size[0], Number(size[1]), Number(size[2])];
  const lines = wrapped(note, width - 2 * MARGIN);
  const room = lines.length * LINE + MARGIN;
  const taller = head
    .replace(`viewBox="0 0 ${size[1]} ${size[2]}"`, `viewBox="0 0 ${width} ${height + room}"`)
    .replace(/\bheight="[\d.]+"/, `height="${height + room}"`);
  const look = `font-size="${SIZE}" font-family="sans-serif" fill="#3b2e00"`;
  const texts = lines.map(
    (line, k) => `<text x="${MARGIN}" y="${height + (k + 1) * LINE}" ${look}>${escapeXml(line)}</text>`,
  );
  const ground = `<rect x="0" y="${height}" width="${width}" height="${room}" fill="#fff4ce"/>`;
  return svg.replace(head, taller).replace(/<\/svg>\s*$/, `${ground}${texts.join('')}</svg>\n`);
}

/** Words in lines of at most a width, px; a word that is wider stands alone. */
function wrapped(text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const longer = lines.length === 0 ? word : `${lines.at(-1)} ${word}`;
    if (lines.length > 0 && textWidth(longer, SIZE) <= width) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}
