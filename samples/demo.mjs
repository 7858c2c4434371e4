/** The main job on one sample: check it, print its timing table, write its diagram. Run by `npm run demo`. */
import { spawnSync } from 'node:child_process';
import { mkdirSync } from 'node:fs';

const sample = 'samples/digester_bank.rig';
const picture = 'out/digester_bank.svg';
mkdirSync('out', { recursive: true });

function caisson(...words) {
  console.log(`\n$ caisson ${words.join(' ')}`);
  const { status } = spawnSync(process.execPath, ['dist/caisson.js', ...words], { stdio: 'inherit' });
  if (status !== 0) process.exit(status ?? 1);
}

caisson('check', sample);
caisson('timing', sample);
caisson('diagram', sample, '--out', picture);
console.log(`
The diagram is ${picture}; any browser opens it.
In the editor: npm run package makes caisson.vsix; install it with "code --install-extension caisson.vsix",
open ${sample} and press Ctrl+K V (Cmd+K V) for the diagram beside the source.`);
