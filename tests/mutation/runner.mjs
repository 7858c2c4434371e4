/**
 * A vitest in a process of its own: is sent test files, runs them one after the other, and sends how each ended, in the end `done`. Whoever asks ends the process where a change keeps a file from ending.
 *
 * A file that is imported as `x.test.ts?change=…` is loaded anew under each such name, with all of `tests` that it imports: what tests keep, they keep for
 * one change. The sources that they test are loaded once.
 */
import path from 'node:path';
import process from 'node:process';
import { BaseSequencer, createVitest } from 'vitest/node';

class AsGiven extends BaseSequencer {
  async sort(files) {
    return files;
  }
}

const root = process.argv[2];
const tests = path.join(root, 'tests') + path.sep;

const anew = {
  name: 'anew',
  enforce: 'pre',
  async resolveId(source, importer, options) {
    const [name] = /\?change=\w+$/.exec(importer ?? '') ?? [];
    if (!name || source.includes('?')) return null;
    const found = await this.resolve(source, importer.slice(0, -name.length), { ...options, skipSelf: true });
    return found?.id.startsWith(tests) && found.id.endsWith('.ts') ? found.id + name : found;
  },
};

const reporter = {
  onTestModuleEnd: (module) => process.send({ file: path.relative(root, module.moduleId), state: module.state() }),
};

const vitest = await createVitest(
  'test',
  {
    root,
    watch: false,
    maxWorkers: 1,
    fileParallelism: false,
    reporters: [reporter],
    sequence: { sequencer: AsGiven },
    exclude: ['**/node_modules/**'],
  },
  { clearScreen: false, logLevel: 'silent', plugins: [anew] },
);
await vitest.standalone();
const project = vitest.getRootProject();

process.on('message', async (files) => {
  await vitest.runTestSpecifications(files.map((file) => project.createSpecification(path.resolve(root, file))));
  process.send({ done: true });
});
process.send({ ready: true });
