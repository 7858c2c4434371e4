/**
 * Redraw of the preview page after an edit, in headless Chromium with software drawing: from the host's message to the frame after
 * it. Targets on two cores: 150 ms at 100 and at 1,000 shapes, 300 ms at 5,000.
 */
/* global window, document, requestAnimationFrame */
import { mkdirSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const folder = dirname(fileURLToPath(import.meta.url));
const root = join(folder, '../..');
const out = join(root, '.cache/bench/preview-parts.cjs');
mkdirSync(dirname(out), { recursive: true });
const parts = await build({
  stdin: {
    contents: `export { startHarness, modelMessage } from './tests/page/harness';
      export { bare, ms } from './tests/diagram/rigs';
      export { previewModel } from './server/core/diagram/preview-model';`,
    resolveDir: root,
    loader: 'ts',
  },
  bundle: true,
  platform: 'node',
  format: 'cjs',
  external: ['esbuild', 'playwright-core'],
  define: { __dirname: JSON.stringify(join(root, 'tests/page')) },
  write: false,
  logLevel: 'error',
});
writeFileSync(out, parts.outputFiles[0].text);
const { startHarness, modelMessage, bare, ms, previewModel } = createRequire(import.meta.url)(out);

/** `doors` doors with `openings` openings each; a little later at each `edit`. */
function rig(doors, openings, edit) {
  const windows = (k) =>
    Array.from({ length: openings }, (_, n) => [ms(n * 1_000 + 10 * k + edit), ms(n * 1_000 + 10 * k + edit + 300)]);
  const lanes = Array.from({ length: doors }, (_, k) => [`door${k}`, windows(k)]);
  return previewModel(bare('bench', lanes, ms(50), {}, { pairs: [] }), { caution: '' });
}

const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
const EDITS = 12;
const harness = await startHarness();
for (const [doors, openings] of [
  [3, 4],
  [12, 20],
  [36, 36],
]) {
  const preview = await harness.open();
  const models = Array.from({ length: EDITS }, (_, k) => modelMessage([rig(doors, openings, k)], { version: k + 1 }));
  const times = await preview.page.evaluate(async (messages) => {
    const measured = [];
    for (const message of messages) {
      const start = performance.now();
      window.postMessage(message, '*');
      await new Promise((done) => setTimeout(() => requestAnimationFrame(() => setTimeout(done))));
      measured.push(performance.now() - start);
    }
    return measured;
  }, models);
  const shapes = await preview.page.evaluate(() => document.querySelectorAll('.timing svg *').length);
  console.log(
    `${String(shapes).padStart(6)} shapes: ${median(times.slice(2)).toFixed(0)} ms median of ${EDITS - 2} edits (first drawing ${times[0].toFixed(0)} ms)`,
  );
  await preview.close();
}
await harness.close();
