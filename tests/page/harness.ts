/** The preview page in a headless browser, over its real HTML and content policy, with an editor's interface that records. */
import { existsSync, readFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import { createRequire } from 'node:module';
import type { AddressInfo } from 'node:net';
import { join, resolve } from 'node:path';
import { build } from 'esbuild';
import { chromium, type Browser, type Page } from 'playwright-core';
import type { HostMessage, PageMessage, PreviewModel, PreviewSettings } from '../../server/protocol/preview';
import { previewHtml } from '../../client/src/preview/page-html';

const ROOT = resolve(__dirname, '../..');
export const CHROMIUM = process.env.CHROMIUM_PATH ?? '/usr/bin/chromium';

/** Missing browser: skipped with a reason here, a failure where CI is set. */
export const browserMissing = !existsSync(CHROMIUM);
if (browserMissing && process.env.CI) throw new Error(`No browser at ${CHROMIUM}: the preview's tests cannot run.`);
if (browserMissing) console.warn(`SKIPPED: the preview's tests need a Chromium at ${CHROMIUM} (or CHROMIUM_PATH).`);

export const THEME_NAMES = ['light', 'dark', 'hc-dark', 'hc-light'] as const;
export type Theme = (typeof THEME_NAMES)[number];

/** Body classes and the variables that matter, as an editor sets them. */
const THEMES: Record<Theme, { classes: string; variables: Record<string, string> }> = {
  light: { classes: 'vscode-light', variables: theme('#ffffff', '#333333', '#717171', '#005fb8', '#e5e5e5') },
  dark: { classes: 'vscode-dark', variables: theme('#1f1f1f', '#cccccc', '#9d9d9d', '#0078d4', '#2b2b2b') },
  'hc-dark': {
    classes: 'vscode-high-contrast',
    variables: { ...theme('#000000', '#ffffff', '#ffffff', '#f38518', '#6fc3df'), contrastBorder: '#6fc3df' },
  },
  'hc-light': {
    classes: 'vscode-high-contrast vscode-high-contrast-light',
    variables: { ...theme('#ffffff', '#292929', '#292929', '#006bbd', '#0f4a85'), contrastBorder: '#0f4a85' },
  },
};

function theme(ground: string, ink: string, muted: string, focus: string, border: string): Record<string, string> {
  return {
    'editor-background': ground,
    'editor-foreground': ink,
    descriptionForeground: muted,
    focusBorder: focus,
    'panel-border': border,
    'dropdown-background': ground,
    'dropdown-foreground': ink,
    'menu-background': ground,
    'editorHoverWidget-background': ground,
    'editorHoverWidget-border': border,
    'font-family': 'system-ui, sans-serif',
    'font-size': '13px',
  };
}

export interface OpenOptions {
  readonly theme?: Theme;
  readonly width?: number;
  readonly height?: number;
  /** What the editor had kept. */
  readonly state?: unknown;
  readonly reducedMotion?: boolean;
  readonly forcedColors?: boolean;
  /** Language of the editor that there is a bundle of; default English. */
  readonly language?: string;
  /** The host's answers to what the page asks; null: none. */
  readonly host?: (message: PageMessage) => Promise<HostMessage | null>;
}

export interface PreviewPage {
  readonly page: Page;
  /** Sends a host message and waits for the drawing. */
  send(message: HostMessage): Promise<void>;
  /** All messages of the page so far; `take` those of one type. */
  posted(): Promise<PageMessage[]>;
  take<T extends PageMessage['type']>(type: T): Promise<Extract<PageMessage, { type: T }>[]>;
  /** The state kept last. */
  kept(): Promise<unknown>;
  setTheme(theme: Theme): Promise<void>;
  /** Violations of the content policy and errors of scripts; a sound page has none. */
  readonly faults: string[];
  close(): Promise<void>;
}

export interface Harness {
  open(options?: OpenOptions): Promise<PreviewPage>;
  close(): Promise<void>;
}

/** Bundles the page once, serves it, starts the browser. */
export async function startHarness(): Promise<Harness> {
  const bundle = (entry: string) =>
    build({
      entryPoints: [join(ROOT, entry)],
      bundle: true,
      write: false,
      format: 'iife',
      platform: 'browser',
      target: 'es2022',
      logLevel: 'error',
    });
  const [script, style] = await Promise.all([bundle('client/page/preview.ts'), bundle('client/page/preview.css')]);
  const server = await serve(script.outputFiles[0]!.text, style.outputFiles[0]!.text);
  const origin = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  const browser = await chromium.launch({
    executablePath: CHROMIUM,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
  return {
    open: (options = {}) => openPage(browser, origin, options),
    async close() {
      await browser.close();
      await new Promise((done) => server.close(done));
    },
  };
}

/** The texts of a language. */
export const bundleOf = (language: string): Record<string, string> =>
  JSON.parse(readFileSync(join(ROOT, `client/l10n/bundle.l10n.${language}.json`), 'utf8'));

function serve(script: string, style: string): Promise<Server> {
  const server = createServer((request, response) => {
    const origin = `http://${request.headers.host}`;
    const language = new URL(request.url ?? '/', origin).searchParams.get('language');
    const html = previewHtml({
      ...(language ? { language, words: bundleOf(language) } : {}),
      cspSource: origin,
      nonce: 'harness',
      scriptUri: `${origin}/preview.js`,
      styleUri: `${origin}/preview.css`,
    });
    const [type, body] =
      request.url === '/preview.js'
        ? ['text/javascript', script]
        : request.url === '/preview.css'
          ? ['text/css', style]
          : ['text/html', html];
    response.writeHead(request.url === '/favicon.ico' ? 204 : 200, { 'content-type': `${type}; charset=utf-8` });
    response.end(request.url === '/favicon.ico' ? undefined : body);
  });
  return new Promise((done) => server.listen(0, '127.0.0.1', () => done(server)));
}

async function openPage(browser: Browser, origin: string, options: OpenOptions): Promise<PreviewPage> {
  const context = await browser.newContext({
    viewport: { width: options.width ?? 900, height: options.height ?? 700 },
    reducedMotion: options.reducedMotion ? 'reduce' : 'no-preference',
    forcedColors: options.forcedColors ? 'active' : 'none',
  });
  const page = await context.newPage();
  const faults: string[] = [];
  page.on('pageerror', (error) => faults.push(error.message));
  page.on('console', (message) => message.type() === 'error' && faults.push(message.text()));
  const { host } = options;
  if (host) await page.exposeFunction('toHost', host);
  await page.addInitScript((state) => {
    const record = { posted: [] as unknown[], kept: state as unknown };
    Object.assign(window, {
      record,
      acquireVsCodeApi: () => ({
        postMessage: (message: unknown) => {
          record.posted.push(structuredClone(message));
          const toHost = (window as unknown as { toHost?: (m: unknown) => Promise<unknown> }).toHost;
          void toHost?.(structuredClone(message)).then((answer) => answer && window.postMessage(answer, '*'));
        },
        getState: () => record.kept,
        setState: (next: unknown) => (record.kept = structuredClone(next)),
      }),
    });
    document.addEventListener('securitypolicyviolation', (event) =>
      console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`),
    );
  }, options.state);
  await page.goto(options.language ? `${origin}/?language=${options.language}` : origin);
  const opened: PreviewPage = {
    page,
    faults,
    async send(message) {
      await page.evaluate((data) => window.postMessage(data, '*'), message);
      await settled(page);
    },
    posted: () => page.evaluate(() => (window as unknown as { record: { posted: PageMessage[] } }).record.posted),
    async take(type) {
      const all = await opened.posted();
      return all.filter((m): m is Extract<PageMessage, { type: typeof type }> => m.type === type);
    },
    async kept() {
      await page.waitForTimeout(220);
      return page.evaluate(() => (window as unknown as { record: { kept: unknown } }).record.kept);
    },
    async setTheme(name) {
      await page.evaluate(({ classes, variables }) => {
        document.body.className = classes;
        for (const [key, value] of Object.entries(variables))
          document.documentElement.style.setProperty(`--vscode-${key}`, value);
      }, THEMES[name]);
      await settled(page);
    },
    close: () => context.close(),
  };
  await opened.setTheme(options.theme ?? 'light');
  return opened;
}

/** Two frames: messages are handled and drawn. */
export async function settled(page: Page): Promise<void> {
  await page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done)))),
  );
}

interface Violation {
  readonly id: string;
  readonly nodes: readonly { readonly html: string; readonly failureSummary?: string }[];
}

/** What axe-core finds in the page, one line each. */
export async function violations({ page }: PreviewPage): Promise<string[]> {
  // The page's own policy forbids scripts from elsewhere; the tool comes in beside it.
  await page.evaluate(readFileSync(createRequire(__filename).resolve('axe-core/axe.min.js'), 'utf8'));
  const found = (await page.evaluate(
    'axe.run(document, { resultTypes: ["violations"], rules: { "page-has-heading-one": { enabled: false } } }).then((r) => r.violations)',
  )) as Violation[];
  return found.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.html.slice(0, 160)} ${n.failureSummary ?? ''}`));
}

export const URI = 'file:///test.rig';
export const SETTINGS: PreviewSettings = { look: 'auto', exportLook: 'light', follow: 'cursor' };

/** A model message with what a test does not care about filled in. */
export function modelMessage(
  rigs: readonly PreviewModel[],
  parts: Partial<Extract<HostMessage, { type: 'model' }>> = {},
): HostMessage {
  return {
    type: 'model',
    uri: URI,
    version: 1,
    file: 'test.rig',
    rigs,
    banner: null,
    settings: SETTINGS,
    locked: false,
    ...parts,
  };
}
