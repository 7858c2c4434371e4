/** A picture with a sentence below it: what has to be known wherever the picture goes. */

import { escapeXml } from './shape';

/** Room for the sentence below the picture, pixels. */
const ROOM = 22;

/** The SVG text with a line of text at its foot; unchanged where there is nothing to say. */
export function noted(svg: string, note: string): string {
  const size = /<svg\b[^>]*\bviewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg);
  if (note === '' || !size) return svg;
  const [head, width, height] = [size[0], Number(size[1]), Number(size[2])];
  const taller = head
    .replace(`viewBox="0 0 ${size[1]} ${size[2]}"`, `viewBox="0 0 ${width} ${height + ROOM}"`)
    .replace(/\bheight="[\d.]+"/, `height="${height + ROOM}"`);
  const text = escapeXml(note);
  const line =
    `<rect x="0" y="${height}" width="${width}" height="${ROOM}" fill="#fff4ce"/>` +
    `<text x="8" y="${height + 15}" font-size="12" font-family="sans-serif" fill="#3b2e00">${text}</text>`;
  return svg.replace(head, taller).replace(/<\/svg>\s*$/, `${line}</svg>\n`);
}
