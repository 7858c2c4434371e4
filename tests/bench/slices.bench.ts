/**
 * The longest stretch of work that is not left in between, over all samples: parsing, resolving, every check, every figure about flow.
 * A stretch costs the least of three rounds, of wall clock and processor time, so that other programs do not count. Wanted: 15 ms.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { createDocument } from '../../server/core/document/document';
import { computing } from '../../server/core/document/needs';

interface Stretch {
  readonly phase: string;
  readonly cost: number;
}

function timed<T>(work: () => T): { readonly result: T; readonly cost: number } {
  const processor = process.cpuUsage();
  const start = performance.now();
  const result = work();
  const wall = performance.now() - start;
  const { user, system } = process.cpuUsage(processor);
  return { result, cost: Math.min(wall, (user + system) / 1000) };
}

function stretchesOf(uri: string, text: string): Stretch[] {
  const document = createDocument({ uri, version: 1, text }, () => undefined);
  const found: Stretch[] = [];
  found.push({ phase: 'parsing', cost: timed(() => document.parsed()).cost });
  found.push({ phase: 'resolving', cost: timed(() => document.resolved()).cost });
  const follow = (phase: string, work: Generator<unknown, unknown, void>): void => {
    for (;;) {
      const { result, cost } = timed(() => work.next());
      found.push({ phase, cost });
      if (result.done) return;
    }
  };
  follow('checking', document.work());
  follow('flow', computing(document, 'flow'));
  return found;
}

const rows: (Stretch & { readonly name: string })[] = [];
for (const folder of ['samples', 'samples/broken', 'samples/refuted']) {
  for (const name of readdirSync(folder).filter((file) => file.endsWith('.rig'))) {
    const text = readFileSync(join(folder, name), 'utf8');
    let least: Stretch[] = [];
    for (let round = 0; round < 3; round++) {
      const found = stretchesOf(`file:///${folder}/${name}`, text);
      least = least.length === found.length ? least.map((s, i) => (found[i]!.cost < s.cost ? found[i]! : s)) : found;
    }
    rows.push({ name: `${folder}/${name}`, ...least.reduce((a, b) => (b.cost > a.cost ? b : a)) });
  }
}
rows.sort((a, b) => b.cost - a.cost);
for (const { name, phase, cost } of rows.slice(0, 5))
  console.log(`longest stretch ${cost.toFixed(1)} ms (${phase}): ${name}`);
console.log(`${rows.length} rigs, ${rows.filter((r) => r.cost > 15).length} with a stretch over 15 ms`);
