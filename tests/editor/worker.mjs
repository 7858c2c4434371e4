/**
 * The language server as a worker of a browser page (`dist/caisson.js`), spoken to without an editor: initialize, open,
 * problems, hover, and a file it has to ask the client for.
 */
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { ROOT } from './setup.mjs';
import { close, equal, ok, step } from './steps.mjs';
import { freePort, startBrowser } from './workbench.mjs';

const rig = (name) => readFileSync(join(ROOT, 'tests/editor/rigs', `${name}.rig`), 'utf8');

/** Runs in the page: a client of a few lines around the worker. */
function client() {
  const worker = new window.Worker('/caisson.js');
  const waiting = new Map();
  const files = {};
  let last = 0;
  worker.onmessage = ({ data }) => {
    if (data.method && data.id !== undefined) {
      const answer = data.method === 'caisson/readFile' ? { text: files[data.params.uri] ?? null } : null;
      const listed = data.method === 'caisson/listFiles' ? { uris: Object.keys(files) } : answer;
      const settings = data.method === 'workspace/configuration' ? data.params.items.map(() => null) : listed;
      worker.postMessage({ jsonrpc: '2.0', id: data.id, result: settings });
    } else if (data.id !== undefined) {
      waiting.get(data.id)?.(data);
      waiting.delete(data.id);
    }
  };
  window.rig = {
    files,
    ask: (method, params) =>
      new Promise((resolve) => {
        waiting.set(++last, resolve);
        worker.postMessage({ jsonrpc: '2.0', id: last, method, params });
      }),
    tell: (method, params) => worker.postMessage({ jsonrpc: '2.0', method, params }),
  };
}

const port = await freePort();
const server = createServer((request, response) => {
  const script = request.url === '/caisson.js';
  response.setHeader('content-type', script ? 'text/javascript' : 'text/html');
  response.end(script ? readFileSync(join(ROOT, 'dist/caisson.js')) : '<!doctype html><title>worker</title>');
}).listen(port, '127.0.0.1');
const browser = await startBrowser();
const page = browser.context.pages()[0] ?? (await browser.context.newPage());
const faults = [];
page.on('pageerror', (error) => faults.push(error.message));
await page.goto(`http://127.0.0.1:${port}/`);
await page.evaluate(client);
const ask = async (method, params) => {
  const answer = await page.evaluate(([m, p]) => window.rig.ask(m, p), [method, params]);
  if (answer.error) throw new Error(`${method}: ${answer.error.message}`);
  return answer;
};
const tell = (method, params) => page.evaluate(([m, p]) => window.rig.tell(m, p), [method, params]);
const open = (uri, text) =>
  tell('textDocument/didOpen', { textDocument: { uri, languageId: 'rig', version: 1, text } });

await step('the worker answers initialize', async () => {
  const { result } = await ask('initialize', {
    processId: null,
    rootUri: null,
    workspaceFolders: null,
    capabilities: { textDocument: { diagnostic: {} }, general: { positionEncodings: ['utf-16'] } },
    initializationOptions: { files: true },
  });
  equal(result.capabilities.hoverProvider !== undefined, true, 'hover capability');
  ok(result.capabilities.diagnosticProvider, 'pull diagnostics are offered');
  await tell('initialized', {});
});

await step('the worker finds the overlap', async () => {
  await open('memfs:/hasty.rig', rig('hasty'));
  const { result } = await ask('textDocument/diagnostic', { textDocument: { uri: 'memfs:/hasty.rig' } });
  const codes = result.items.map((item) => item.code);
  ok(codes.includes('door/overlap'), `codes: ${codes.join(', ')}`);
});

await step('the worker hovers over a door', async () => {
  const text = rig('feeder');
  await open('memfs:/feeder.rig', text);
  const line = text.split('\n').findIndex((l) => l.includes('door upper'));
  const { result } = await ask('textDocument/hover', {
    textDocument: { uri: 'memfs:/feeder.rig' },
    position: { line, character: 8 },
  });
  ok(/opens/i.test(JSON.stringify(result?.contents)), `hover: ${JSON.stringify(result)}`);
});

await step('the worker asks the client for an imported file', async () => {
  await page.evaluate(() => void (window.rig.files['memfs:/times.rig'] = 'let settle = 1 s\n'));
  const text = rig('feeder')
    .replace('rig feeder', 'import "times.rig"\nrig feeder')
    .replace('(start, 1 s)', '(start, settle)');
  await open('memfs:/importing.rig', text);
  let items = [];
  for (let tries = 0; tries < 50; tries++) {
    const { result } = await ask('textDocument/diagnostic', { textDocument: { uri: 'memfs:/importing.rig' } });
    items = result.items ?? items;
    if (items.length === 0) return;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new Error(`still there: ${items.map((item) => item.message).join(' ')}`);
});

await step('loaded as a module in a browser, the program draws a rig and starts no server', async () => {
  // As client/src/extension-web.ts does it; the Markdown preview of a browser cannot be had with this editor.
  const svg = await page.evaluate(async (text) => {
    const program = await (await window.fetch('/caisson.js')).text();
    const module = { exports: {} };
    new Function('module', 'exports', 'require', program.replace(/^#!.*/, ''))(module, module.exports, () => null);
    return [module.exports.drawFence(text, 'a-'), module.exports.drawFence('let a = 1 s', 'b-')];
  }, rig('feeder'));
  ok(svg[0]?.startsWith('<svg') && svg[0].includes('upper'), 'a drawing');
  equal(svg[1], null, 'drawing of a fragment');
});

await step('the worker threw nothing', async () => equal(faults.join(' '), '', 'page errors'));

await browser.close();
server.close();
close();
