/** The texts of the manifest in each language: the same keys in the same order, with the same marks. */
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { marks } from './marks';

const ROOT = resolve(__dirname, '../..');
const table = (file: string): Record<string, string> => JSON.parse(readFileSync(join(ROOT, file), 'utf8'));
/** Files of the package, as tests/package/weigh.mjs lists them. */
const packaged = [...readFileSync(join(ROOT, 'tests/package/weigh.mjs'), 'utf8').matchAll(/^ {2}'(.+)',$/gm)].map(
  (m) => m[1],
);
const english = table('package.nls.json');
const languages = readdirSync(ROOT).flatMap((file) => /^package\.nls\.([\w-]+)\.json$/.exec(file)?.[1] ?? []);

it('there is a German translation', () => expect(languages).toContain('de'));

describe.each(languages)('%s', (language) => {
  const file = `package.nls.${language}.json`;
  const translated = table(file);

  it('has the keys of the English table, in its order', () => {
    expect(Object.keys(translated)).toEqual(Object.keys(english));
  });

  it('keeps what stands in backquotes, links and line ends', () => {
    for (const [key, text] of Object.entries(english)) expect(marks(translated[key]!), key).toEqual(marks(text));
  });

  it('is translated: a text alike in both is a word that both have', () => {
    const alike = Object.keys(english).filter((key) => translated[key] === english[key]);
    expect(alike.filter((key) => !/^token\./.test(key))).toEqual([]);
    for (const text of Object.values(translated)) expect(text.trim()).not.toBe('');
  });

  it('is in the package', () => expect(packaged).toContain(file));

  it('has every page of the walkthrough', () => {
    const pages = readdirSync(join(ROOT, 'client/walkthrough')).filter((name) => /^\w+\.md$/.test(name));
    expect(pages.length).toBeGreaterThan(3);
    for (const page of pages) {
      const path = `client/walkthrough/${page.replace('.md', `.nls.${language}.md`)}`;
      expect(existsSync(join(ROOT, path)), path).toBe(true);
      expect(packaged).toContain(path);
    }
  });
});
