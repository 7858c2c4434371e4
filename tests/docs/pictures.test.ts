/**
 * The pictures of the documents show what is drawn now. `UPDATE_GOLDENS=1` draws those of the samples anew; `node tests/editor/picture.mjs`
 * takes the one of the editor.
 */
import { existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { ROOT, run } from '../cli/run';
import { documentText } from './blocks';

const PICTURES = join(ROOT, 'samples/pictures');
const samples = [...documentText('samples/README.md').matchAll(/^## \[([\w/]+)\.rig\]/gm)].map((m) => m[1]!);

/** All texts of a picture, in order of the alphabet. */
const textsOf = (svg: string): string[] => [...svg.matchAll(/<text[^>]*>([^<]*)/g)].map((m) => m[1]!).sort();

describe('samples/README.md', () => {
  it('has a picture, a story and something to learn for each sample', () => {
    const text = documentText('samples/README.md');
    expect(samples.length).toBeGreaterThan(8);
    for (const sample of samples) {
      const section = text.slice(text.indexOf(`## [${sample}.rig]`)).split('\n## ')[0]!;
      expect(section).toContain(`](pictures/${basename(sample)}.svg)`);
      expect(section.split(/\.\s/).length).toBeGreaterThan(3);
      expect(section).toMatch(/\n\nTo learn: \S/);
    }
  });

  it.each(samples)('shows what is drawn of %s', async (sample) => {
    const { out } = await run(['diagram', `samples/${sample}.rig`, '--width', '900']);
    const path = join(PICTURES, `${basename(sample)}.svg`);
    if (process.env.UPDATE_GOLDENS === '1') writeFileSync(path, out);
    expect(textsOf(out).length).toBeGreaterThan(20);
    expect(textsOf(readFileSync(path, 'utf8'))).toEqual(textsOf(out));
  });
});

describe('the picture of the editor', () => {
  const path = join(PICTURES, 'editor.jpg');
  const shown = JSON.parse(readFileSync(path.replace('.jpg', '.json'), 'utf8')) as {
    sample: string;
    text: string;
    times: string[];
  };

  it('is in README.md, with the diagram below 200 KB', () => {
    expect(documentText('README.md')).toContain('](samples/pictures/editor.jpg)');
    expect(existsSync(path)).toBe(true);
    expect(statSync(path).size + statSync(join(PICTURES, 'digester_bank.svg')).size).toBeLessThan(200_000);
  });

  it('shows the sample as it is, with the times that are drawn of it', async () => {
    expect(shown.text).toBe(documentText(shown.sample));
    const drawn = textsOf((await run(['diagram', shown.sample])).out);
    // Whole seconds are marks of the axis, which has others in another width.
    const times = shown.times.filter((time) => !/^\d+ s$/.test(time));
    expect(times.length).toBeGreaterThan(5);
    expect(times.filter((time) => !drawn.includes(time))).toEqual([]);
  });
});
