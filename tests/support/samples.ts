/** The resolved rigs of the sound samples, found at run time. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from '../../grammar/src/api';
import { resolveFile } from '../../server/core/model/resolve';
import type { Rig } from '../../server/core/model/rig';

const SAMPLES = join(__dirname, '../../samples');

export function sampleRigs(): Rig[] {
  const files = readdirSync(SAMPLES).filter((file) => file.endsWith('.rig'));
  return files.sort().flatMap((file) => {
    const text = readFileSync(join(SAMPLES, file), 'utf8');
    return [...resolveFile({ uri: `file:///${file}`, tree: parse(text).tree, text }, () => null).rigs];
  });
}
