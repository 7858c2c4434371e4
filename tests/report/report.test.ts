/** The page to hand on: self-contained, accessible, sortable under its own content policy. Looked at in Chromium where there is one. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { chromium, type Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../cli/run';
import { browserMissing, CHROMIUM } from '../page/harness';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

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

describe('the report', () => {
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

  it.each([
    ['report', 'light'],
    ['report', 'dark'],
    ['sheet', 'light'],
    ['sheet', 'dark'],
  ] as const)('nothing hinders a reader of the %s in %s', async (command, colorScheme) => {
    const context = await browser.newContext({ colorScheme, bypassCSP: true });
    const page = await context.newPage();
    await page.setContent(await pageOf(command, 'digester_bank'));
    await page.addScriptTag({ content: axe });
    const found = await page.evaluate(() =>
      (globalThis as unknown as { axe: { run(): Promise<AxeResult> } }).axe.run(),
    );
    expect(found.violations.map((v) => `${v.id}: ${v.nodes[0]?.html}`)).toEqual([]);
    await context.close();
  });
});

interface AxeResult {
  readonly violations: readonly { readonly id: string; readonly nodes: readonly { readonly html: string }[] }[];
}
