/**
 * A step of an edge in the hand, in headless Chromium: the key, the trial of the text in memory, its facts, the picture of them with
 * style and layout; engine and page on one thread, so that nothing is hidden by another core. Targets, median: 16 ms for the samples, 33 ms
 * for a rig of ten doors in a file of 24 rigs. Time is the processor's for this thread, so that a busy machine counts little; the ratio is to the
 * drawing alone.
 */
/* global window */
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const folder = dirname(fileURLToPath(import.meta.url));
const root = join(folder, '../..');
const out = join(root, '.cache/bench/drag-parts.cjs');
mkdirSync(dirname(out), { recursive: true });
const common = { bundle: true, write: false, logLevel: 'error' };
const [parts, host] = await Promise.all([
  build({
    ...common,
    stdin: {
      contents: `export { startHarness } from './tests/page/harness';`,
      resolveDir: root,
      loader: 'ts',
    },
    platform: 'node',
    format: 'cjs',
    external: ['esbuild', 'playwright-core'],
    define: { __dirname: JSON.stringify(join(root, 'tests/page')) },
  }),
  build({ ...common, entryPoints: [join(folder, 'drag-host.ts')], platform: 'browser', format: 'iife', minify: true }),
]);
writeFileSync(out, parts.outputFiles[0].text);
const { startHarness } = createRequire(import.meta.url)(out);

/** A stack of doors that open one after the other, with requirements between neighbours. */
function stackOf(name, count) {
  const doors = Array.from({ length: count }, (_, k) => `d${k + 1}`);
  return `rig ${name} {
  chamber a { volume 6 m3 }
  chamber b { volume 2 m3 }
${doors.map((d) => `  door ${d} { pocket 100 L  travel 200 ms }`).join('\n')}
  stack a > ${doors.join(' > ')} > b
  controller { response 20 ms }
  sensor ready on a { pressure above 1.5 bar  clears below 1.3 bar }
  signal start = ready and not hold
${doors
  .map((d, k) =>
    k === 0
      ? `  signal ${d}_on = TOF(start, 1.4 s)`
      : `  signal ${d}_on = TOF(TON(TOF(start, ${k + 1.6} s), ${k} s), 900 ms)`,
  )
  .join('\n')}
  signal hold = TOF(start, ${count + 4} s)
${doors.map((d) => `  drive ${d} = ${d}_on`).join('\n')}
${doors
  .slice(1)
  .map((_, k) => `  require window(${doors[k]}) >= 500 ms`)
  .join('\n')}
}
`;
}

const SAMPLES = readdirSync(join(root, 'samples')).filter((file) => file.endsWith('.rig'));
const cases = SAMPLES.map((file) => {
  const text = readFileSync(join(root, 'samples', file), 'utf8');
  return { name: file.replace('.rig', ''), text, rig: /^rig (\w+)/m.exec(text)[1] };
});
const file = Array.from({ length: 24 }, (_, k) => stackOf(`rig_${k}`, 10)).join('\n');
cases.push({ name: '10 doors, 24 rigs', text: file, rig: 'rig_23' });

const median = (values) => [...values].sort((a, b) => a - b)[values.length >> 1];
const STEPS = 60;
const harness = await startHarness();
console.log('rig                      processor ms (worst tenth)   of it engine   step / picture');
for (const { name, text, rig } of cases) {
  const preview = await harness.open({ width: 1000, height: 760 });
  const { page } = preview;
  await page.evaluate(host.outputFiles[0].text);
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Performance.enable');
  const threadTime = async () =>
    (await cdp.send('Performance.getMetrics')).metrics.find((m) => m.name === 'ThreadTime').value * 1000;
  await page.evaluate(
    async ({ text, rig }) => {
      await window.bench.show(text, rig, 1);
      const edges = [...window.document.querySelectorAll('[data-edge^="door:"]')].map((e) => e.dataset.edge);
      await window.bench.hold(edges.find((id) => id.endsWith('/closes/0')));
    },
    { text, rig },
  );
  const steps = [];
  for (let k = 0; k < STEPS; k++) {
    const before = await threadTime();
    const taken = await page.evaluate(
      ([by, far]) => window.bench.step(by, far),
      [k < STEPS / 2 ? 'ArrowRight' : 'ArrowLeft', k % 7 === 3],
    );
    steps.push({ cpu: (await threadTime()) - before, engine: taken.engine / taken.all });
  }
  const kept = steps.slice(6);
  const cpu = median(kept.map((t) => t.cpu));
  const worst = kept.map((t) => t.cpu).sort((a, b) => b - a)[Math.floor(kept.length / 10)];
  const engine = median(kept.map((t) => t.engine));
  const cells = [cpu.toFixed(1).padStart(7), `(${worst.toFixed(1)})`.padEnd(18)];
  console.log(
    `${name.padEnd(24)} ${cells.join(' ')} ${(100 * engine).toFixed(0).padStart(8)} % ${(1 / (1 - engine)).toFixed(1).padStart(14)}`,
  );
  if (preview.faults.length > 0) console.log(preview.faults.join('\n'));
  await preview.close();
}
await harness.close();
