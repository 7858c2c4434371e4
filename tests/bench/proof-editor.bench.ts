/**
 * Edit → diagnostics over the protocol while a proof runs in its thread, as a ratio to the same edits of the same text with none running; how long cancelling
 * takes to be answered.
 */
import { CancellationTokenSource } from 'vscode-languageserver/node';
import { bundleServer } from '../lsp/bundle';
import { spawnSession } from '../lsp/session';
import { stages } from '../support/proof-rigs';
import { median } from './texts';

const TURNS = 30;
const uri = 'file:///bench/stages.rig';
/** A requirement across both stages: no cut helps, so that the proof goes on for as long as it may. */
const text = stages({ doors: [4, 4], linked: true, loose: true }).replace(/\}$/, 'require gap(a4, b1) >= 9 s\n}');

async function main(): Promise<void> {
  const session = await spawnSession(process.execPath, [await bundleServer(), '--stdio']);
  const document = session.open(uri, text);
  await session.diagnostics(uri);
  const edits = async (): Promise<number[]> => {
    const spent: number[] = [];
    for (let k = 0; k < TURNS; k++) {
      const begun = performance.now();
      session.edit(document, 0, 0, '# a line\n');
      await session.diagnostics(uri, (p) => p.version === document.version);
      spent.push(performance.now() - begun);
      session.published.length = 0;
    }
    return spent;
  };
  await edits();
  const alone = await edits();
  const source = new CancellationTokenSource();
  const asked = session.connection
    .sendRequest('workspace/executeCommand', { command: 'caisson.prove', arguments: [uri] }, source.token)
    .then(
      () => 'ended',
      () => 'cancelled',
    );
  const beside = await edits();
  const begun = performance.now();
  source.cancel();
  const outcome = await asked;
  const cancelled = performance.now() - begun;
  const figure = (values: readonly number[]): string =>
    `median ${median(values).toFixed(1)} ms, slowest ${Math.max(...values).toFixed(1)} ms`;
  console.log(`  edit → diagnostics, no proof: ${figure(alone)}`);
  console.log(
    `  while proving:                ${figure(beside)}; ratio of medians ${(median(beside) / median(alone)).toFixed(2)}`,
  );
  console.log(`  cancel → answer: ${cancelled.toFixed(1)} ms (the proof was ${outcome})`);
  await session.close();
}

void main();
