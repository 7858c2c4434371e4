/** What a user does in the workbench, with keyboard and mouse, and what a user sees. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from './setup.mjs';
import { until } from './steps.mjs';

export const PICTURES = join(ROOT, 'tests/editor/artefacts');
mkdirSync(PICTURES, { recursive: true });

export function createUser(page) {
  const press = (keys) => page.keyboard.press(keys);
  const type = (text, delay = 8) => page.keyboard.type(text, { delay });
  const visible = (selector) => page.locator(selector).first().isVisible();

  /** Runs a command by its name in the palette. */
  async function command(name) {
    await press('F1');
    const input = page.locator('.quick-input-widget input').first();
    await input.waitFor({ state: 'visible' });
    await input.fill(`>${name}`);
    const row = page.locator('.quick-input-list .monaco-list-row').filter({ hasText: name }).first();
    await row.waitFor({ state: 'visible', timeout: 10_000 });
    await row.click();
  }

  /** Opens a file of the folder by its name. */
  /** The list is drawn anew as its results arrive, and a click into that moment is lost: then once more. */
  async function openFile(name, tries = 3) {
    await press('Control+p');
    const input = page.locator('.quick-input-widget input').first();
    await input.waitFor({ state: 'visible' });
    await input.fill(name);
    const row = page
      .locator('.quick-input-list .monaco-list-row')
      .filter({ has: page.locator('.label-name').getByText(name, { exact: true }) })
      .first();
    // The tab of the preview bears the name too, in another group.
    const tab = page
      .locator('.editor-group-container.active .tab.active .label-name')
      .getByText(name.split('/').pop(), { exact: true })
      .first();
    try {
      await row.click({ timeout: tries > 1 ? 8_000 : 15_000 });
      await tab.waitFor({ timeout: tries > 1 ? 8_000 : 15_000 });
    } catch (lost) {
      if (tries === 1) throw lost;
      await press('Escape');
      return openFile(name, tries - 1);
    }
    await until('the editor to be ready', () =>
      page.locator('.editor-group-container.active .view-lines .view-line').count(),
    );
  }

  /** Puts the cursor at a line and column (from 1). */
  async function goTo(line, column = 1) {
    await press('Control+g');
    const input = page.locator('.quick-input-widget input').first();
    await input.waitFor({ state: 'visible' });
    await input.fill(`:${line}:${column}`);
    await press('Enter');
    await until('the cursor to be there', async () => (await position())?.startsWith(`Ln ${line}, Col ${column}`));
  }

  /** `Ln 3, Col 7 (4 selected)`, as the status bar shows it. */
  async function position() {
    const item = page.locator('.statusbar-item[id="status.editor.selection"] a').first();
    return (await item.count()) > 0 ? (await item.textContent())?.trim() : null;
  }

  /** Number of underlined places of the active editor. */
  const squiggles = () =>
    page
      .locator(
        '.editor-group-container.active .cdr[class*="squiggly-error"], .editor-group-container.active .cdr[class*="squiggly-warning"]',
      )
      .count();

  /** The page inside the preview, once it has drawn something that `selector` finds. */
  async function preview(selector = '#caisson-preview svg', ms = 20_000) {
    return until(
      `the preview to show ${selector}`,
      async () => {
        for (const frame of page.frames()) {
          const found = await frame
            .locator(selector)
            .count()
            .catch(() => 0);
          if (
            found > 0 &&
            (await frame
              .locator('#caisson-preview')
              .count()
              .catch(() => 0)) > 0
          )
            return frame;
        }
        return null;
      },
      ms,
    );
  }

  const picture = (name) => page.screenshot({ path: join(PICTURES, `${name}.png`) });

  return { page, press, type, visible, command, openFile, goTo, position, squiggles, preview, picture };
}

/** Waits until the workbench is there and calm. */
export async function workbenchReady(page) {
  await page.locator('.monaco-workbench').waitFor({ timeout: 60_000 });
  await page.locator('.statusbar-item').first().waitFor({ timeout: 30_000 });
}
