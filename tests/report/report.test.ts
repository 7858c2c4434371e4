/** The page to hand on: self-contained, accessible, sortable under its own content policy. Looked at in Chromium where there is one. */
import { spawnSync } from 'node:child_process';
import { readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { chromium, type Browser, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../cli/run';
import { browserMissing, CHROMIUM } from '../page/harness';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** The rules of axe-core that read colours (its category `cat.color`). */
const COLOUR_RULES = ['color-contrast', 'link-in-text-block'];
const SAMPLES = readdirSync('samples')
  .filter((file) => file.endsWith('.rig'))
  .map((file) => file.replace('.rig', ''));
const popplerMissing = spawnSync('pdftotext', ['-v']).error !== undefined;
const MADE = new Map<string, Promise<string>>();

function pageOf(command: string, sample: string): Promise<string> {
  const key = `${command} ${sample}`;
  const known = MADE.get(key) ?? make(command, sample);
  MADE.set(key, known);
  return known;
}

async function make(command: string, sample: string): Promise<string> {
  const { code, written } = await run([command, `samples/${sample}.rig`, '--out', 'page.html']);
  expect(code).toBe(0);
  return String(written.get('page.html'));
}

/** Two sensors, each with a lock of its own: two strokes. */
const TWO = `rig two {
  medium air
  controller { response 10 ms }
  chamber left { volume 1 m3 pressure 2 bar }
  chamber right { volume 1 m3 pressure 2 bar }
  chamber kiln { volume 200 L pressure 1.2 bar }
  door a { pocket 5 L travel 200 ms }
  door b { pocket 5 L travel 200 ms }
  stack left > a > kiln
  stack right > b > kiln
  sensor l on left { pressure above 2.4 bar }
  sensor r on right { pressure above 2.4 bar }
  drive a = TP(l, 900 ms)
  drive b = TP(r, 850 ms)
}
`;

describe('the report', () => {
  it('draws the stroke of each trigger, and has its times', async () => {
    const { code, written } = await run(['report', 'two.rig', '--out', 'page.html'], { 'two.rig': TWO });
    expect(code).toBe(0);
    const html = String(written.get('page.html'));
    for (const sensor of ['l', 'r']) {
      expect(html).toContain(`Timing diagram of one stroke, after ${sensor} goes on.`);
      expect(html).toContain(`<h3>After ${sensor} goes on</h3>`);
    }
  });

  it('is one file under 1 MB that names nothing elsewhere and carries the caution', async () => {
    const html = await pageOf('report', 'digester_bank');
    expect(html.length).toBeLessThan(1_000_000);
    expect(html).not.toMatch(/(?:href|src)="(?!#)/);
    expect(html.match(/https?:\/\/[^"'\s<]*/g)?.filter((u) => u !== 'http://www.w3.org/2000/svg') ?? []).toEqual([]);
    expect(html).toContain('injure and kill');
    for (const part of [
      'Requirements',
      'Findings',
      'Proof',
      'Pictures',
      'Times',
      'Flow',
      'Build sheet',
      'Text of the rig',
    ])
      expect(html).toContain(`>${part}</h2>`);
  });

  it('is refused for a text with errors, in a sentence', async () => {
    const { code, err, written } = await run(['report', 'faulty.rig', '--out', 'x.html'], {
      'faulty.rig': 'rig r {\n  door d { travel 300 }\n}\n',
    });
    expect([code, written.size]).toEqual([1, 0]);
    expect(err).toMatch(/^No report: the text has errors: faulty\.rig:2:/);
  });
});

describe.skipIf(browserMissing)('in a browser', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox'] });
  });
  afterAll(() => browser.close());

  it('a table is sorted by its column, under the page’s own content policy', async () => {
    const page = await browser.newPage();
    const blocked: string[] = [];
    page.on('console', (message) => blocked.push(message.text()));
    await page.setContent(await pageOf('report', 'digester_bank'));
    const first = () => page.textContent('table.sortable tbody tr');
    const before = await first();
    await page.click('table.sortable thead button');
    const up = await first();
    await page.click('table.sortable thead button');
    expect(await page.getAttribute('table.sortable thead th', 'aria-sort')).toBe('descending');
    expect(new Set([before, up, await first()]).size).toBeGreaterThan(1);
    expect(blocked).toEqual([]);
    await page.close();
  });

  const read = SAMPLES.flatMap((sample) => [['report', sample] as const, ['sheet', sample] as const]);
  it.each(read)('nothing hinders a reader of the %s of %s', { timeout: 180_000 }, async (command, sample) => {
    const html = await pageOf(command, sample);
    const context = await browser.newContext({ colorScheme: 'light', bypassCSP: true });
    const page = await context.newPage();
    await page.setContent(html);
    await page.addScriptTag({ content: axe });
    const found = async (rules: readonly string[] | null): Promise<string[]> => {
      const options = { resultTypes: ['violations'], ...(rules ? { runOnly: rules } : {}) };
      const { violations } = await page.evaluate(
        (o) => (globalThis as unknown as { axe: AxeCore }).axe.run(document, o),
        options,
      );
      return violations.map((v) => `${v.id}: ${v.nodes[0]?.html}`);
    };
    expect.soft(await found(null), 'light').toEqual([]);
    // The same page in other colours: of all rules only those that look at colours can find anything else.
    await page.emulateMedia({ colorScheme: 'dark' });
    expect.soft(await page.evaluate(() => matchMedia('(prefers-color-scheme: dark)').matches)).toBe(true);
    expect.soft(await found(COLOUR_RULES), 'dark').toEqual([]);
    await context.close();
  });

  it('the rules about colours are those of axe-core, and find pale words in the dark', async () => {
    const context = await browser.newContext({ colorScheme: 'dark', bypassCSP: true });
    const page = await context.newPage();
    const style = '@media (prefers-color-scheme: dark) { body { color: #333; background: #222 } }';
    await page.setContent(`<style>${style}</style><main><p>Pale words.</p></main>`);
    await page.addScriptTag({ content: axe });
    const { violations } = await page.evaluate(
      (o) => (globalThis as unknown as { axe: AxeCore }).axe.run(document, o),
      { runOnly: COLOUR_RULES },
    );
    const known = await page.evaluate(() =>
      (globalThis as unknown as { axe: AxeCore }).axe.getRules(['cat.color']).map((rule) => rule.ruleId),
    );
    await context.close();
    expect(violations.map((v) => v.id)).toEqual(['color-contrast']);
    // Of the category only `color-contrast-enhanced` is left out: it is off where nobody asks for it (WCAG level AAA).
    expect(known.filter((id) => !COLOUR_RULES.includes(id))).toEqual(['color-contrast-enhanced']);
  });

  it.each(read)(
    'the %s of %s is no wider than a narrow window; wide tables and pictures scroll by themselves, pictures at a size that can be read',
    async (command, sample) => {
      const page = await browser.newPage({ viewport: { width: 520, height: 900 } });
      await page.setContent(await pageOf(command, sample));
      const widths = await page.evaluate(() => ({
        page: document.documentElement.scrollWidth,
        scrolling: [...document.querySelectorAll('.wide')].filter((e) => e.scrollWidth > e.clientWidth).length,
        // What a size of 1 in a picture is on the screen, for each picture that is shown.
        scales: [...document.querySelectorAll<SVGSVGElement>('figure svg')].flatMap((svg) => {
          const matrix = svg.getBoundingClientRect().width > 0 ? svg.getScreenCTM() : null;
          return matrix ? [Math.round(matrix.a * 100) / 100] : [];
        }),
      }));
      await page.close();
      expect(widths.scales.filter((scale) => scale < 1)).toEqual([]);
      expect(widths.scales.length).toBeGreaterThan(0);
      expect(widths.page).toBeLessThanOrEqual(520);
      expect(widths.scrolling).toBeGreaterThan(0);
    },
  );

  const printed = ['digester_bank', 'quay_lock', 'twin_presses'].flatMap((sample) =>
    (['report', 'sheet'] as const).flatMap((command) => [
      [command, sample, 'A4'] as const,
      [command, sample, 'Letter'] as const,
    ]),
  );
  it.skipIf(popplerMissing).each(printed)(
    'the printed %s of %s on %s: caution and title on every page, nothing cut, no heading left behind',
    { timeout: 180_000 },
    async (command, sample, format) => {
      const page = await browser.newPage();
      await page.setContent(await pageOf(command, sample));
      const pages = await printedPages(page, format);
      const { title, heads } = await headsOf(page);
      await page.close();
      expect(pages.length).toBeGreaterThan(5);
      pages.forEach((lines, k) => {
        const words = squashed(lines.join(' '));
        expect.soft(words, `page ${k + 1}`).toContain(squashed('can injure and kill. This is a design aid'));
        expect.soft(words, `page ${k + 1}`).toContain(squashed('protect people belong in rated hardware.'));
        expect.soft(words, `page ${k + 1}`).toContain(`${k + 1}/${pages.length}`);
        expect.soft(squashed(lines[0]!), `page ${k + 1}`).toBe(squashed(title));
        // Above the caution at the foot stands what is read last.
        const foot = lines.map((line) => line.startsWith('Stored pressure')).lastIndexOf(true);
        expect.soft(heads, `page ${k + 1}`).not.toContain(squashed(lines[foot - 1]!));
      });
      if (command === 'sheet') return;
      const all = squashed(pages.map((lines) => lines.slice(1).join(' ')).join(' '));
      const source = readFileSync(`samples/${sample}.rig`, 'utf8');
      const cut = source.split('\n').filter((line) => !all.includes(squashed(line)));
      // A line may run over the end of a page.
      expect(cut.length, cut.join('\n')).toBeLessThanOrEqual(1);
    },
  );
});

const squashed = (words: string): string => words.replace(/\s+/g, '');

/** Lines of each page as printed, in order of reading, without empty ones. */
async function printedPages(page: Page, format: 'A4' | 'Letter'): Promise<string[][]> {
  const pdf = await page.pdf({ format, printBackground: true });
  const { stdout, status } = spawnSync('pdftotext', ['-layout', '-', '-'], { input: pdf, encoding: 'utf8' });
  expect(status).toBe(0);
  const lines = (text: string) => text.split('\n').map((line) => line.trim());
  return stdout
    .split('\f')
    .map((text) => lines(text).filter((line) => line !== ''))
    .filter((found) => found.length > 0);
}

/** Lines that something must follow on the same page: headings, captions and heads of tables. */
async function headsOf(page: Page): Promise<{ title: string; heads: string[] }> {
  const [title, heads] = await Promise.all([page.title(), page.locator('h2, h3, caption, thead tr').allTextContents()]);
  return { title, heads: heads.map(squashed) };
}

interface AxeCore {
  run(page: Document, options: object): Promise<AxeResult>;
  getRules(tags: readonly string[]): { readonly ruleId: string }[];
}

interface AxeResult {
  readonly violations: readonly { readonly id: string; readonly nodes: readonly { readonly html: string }[] }[];
}
