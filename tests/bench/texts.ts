/** Long texts for benches: rigs of the samples one after the other, and style sheets of the same length for the peer. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

const SAMPLES = ['digester_bank', 'quay_lock', 'blast_air_scanned', 'brine_lift', 'grain_blower'].map((name) =>
  readFileSync(join(process.cwd(), 'samples', `${name}.rig`), 'utf8'),
);

/** The sound samples one after the other, each rig under a name of its own. */
export function rigText(lines: number): string {
  let text = '';
  let count = 0;
  for (let i = 0; count < lines; i++) {
    const sample = SAMPLES[i % SAMPLES.length]!.replace(/^rig (\S+)/m, `rig $1_${i}`);
    text += `${sample}\n`;
    count += sample.split('\n').length;
  }
  return text;
}

export function sheetText(lines: number): string {
  let text = '';
  for (let i = 0; i * 7 < lines; i++) {
    text += `.panel-${i} > .row:nth-child(${i % 7}) {\n  margin: ${i % 9}px auto 2rem;\n  color: rgba(10, 20, ${i % 255}, 0.5);\n`;
    text += `  transition: opacity 250ms ease-in-out, width 1.5s;\n  width: calc(100% - ${i}px);\n}\n\n`;
  }
  return text;
}

export const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1]!;
