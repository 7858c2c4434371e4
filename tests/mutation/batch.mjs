/** Many changes in one run: a small test file for each change and each test file that may notice it, which do nothing once it is found. */
import { fork } from 'node:child_process';
import { appendFileSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import process from 'node:process';

const FOLDER = 'tests/changed';

/** Prepares the copy: while a change is looked at, each test after the first that fails is left out. */
export function prepare(copy) {
  appendFileSync(
    path.join(copy, 'tests/support/seeds.ts'),
    `
import { afterEach, beforeEach } from 'vitest';
const changing = ((globalThis as any).__changing ??= { now: 0, found: {}, sure: {} });
beforeEach((context) => { if (changing.now && changing.found[changing.now]) context.skip(); });
afterEach(({ task }) => { if (changing.now && task.result?.state === 'fail') changing.found[changing.now] ??= changing.file; });
`,
  );
}

/** A test file that runs another with the change `number` made; after it one without any, where it found the change and is not known to pass. */
const wrapper = (file, number, isControl) => `
import { expect, it } from 'vitest';
const changing = ((globalThis as any).__changing ??= { now: 0, found: {}, sure: {} });
const file = ${JSON.stringify(file)};
const isAsked = ${isControl ? `changing.found[${number}] === file && !changing.sure[file]` : `!changing.found[${number}]`};
changing.now = ${isControl ? 0 : number};
changing.file = file;
if (!isAsked) it('not asked', () => expect(1).toBe(1));
else {
  ${isControl ? 'changing.sure[file] = true;' : ''}
  try {
    await import(${JSON.stringify(path.posix.join('..', path.posix.relative('tests', file)))} + '?change=${number}${isControl ? 'c' : ''}');
  } catch (error) {
    ${isControl ? '' : `changing.found[${number}] ??= file;`}
    throw error;
  }
}
`;

/**
 * Runs changes one after the other. `changes`: `{ number, files }`, the test files in the order in which they are asked; `limitOf` gives the
 * seconds after which a test file counts as without end; `tell(number, by)` is called for each change as soon as it is known: `by` is the test file that
 * found it, `null` where none did.
 */
export async function runBatch(copy, changes, limitOf, tell) {
  const asked = written(copy, changes);
  const foundBy = new Map();
  /** Test files that fail without a change. */
  const unsound = new Set();
  let next = 0;
  const tellDone = () => {
    const open = new Set(asked.slice(next).map(({ number }) => number));
    for (const { number } of changes.splice(0, changes.findIndex((c) => open.has(c.number)) >>> 0)) {
      const by = foundBy.get(number) ?? null;
      tell(number, unsound.has(by) ? null : by);
    }
  };
  /** The change under way is found as it keeps its test file from ending. */
  const foundWithoutEnd = (how) => {
    const { number } = asked[next];
    foundBy.set(number, how);
    while (asked[next]?.number === number) next++;
    tellDone();
  };
  const ended = ({ number, file, isControl }, state) => {
    if (state === 'failed' && isControl) unsound.add(file);
    if (state === 'failed' && !isControl && !foundBy.has(number)) foundBy.set(number, file);
    next++;
    tellDone();
  };
  tellDone();
  while (next < asked.length) await oneRun(copy, asked.slice(next), { limitOf, ended, foundWithoutEnd });
}

/** Writes the small test files of changes. */
function written(copy, changes) {
  rmSync(path.join(copy, FOLDER), { recursive: true, force: true });
  mkdirSync(path.join(copy, FOLDER), { recursive: true });
  return changes.flatMap(({ number, files }) =>
    files.flatMap((file, k) =>
      [false, true].map((isControl) => {
        const name = `${FOLDER}/c${number}-${k}${isControl ? '-control' : ''}.test.ts`;
        writeFileSync(path.join(copy, name), wrapper(file, number, isControl));
        return { name, number, file, isControl };
      }),
    ),
  );
}

/** Runs test files until all have ended, or one does not, or ends the process. */
function oneRun(copy, asked, { limitOf, ended, foundWithoutEnd }) {
  const runner = fork(new URL('runner.mjs', import.meta.url), [path.resolve(copy)], {
    cwd: copy,
    detached: true,
    stdio: 'ignore',
    env: { ...process.env, NODE_ENV: 'test' },
  });
  const queue = [...asked];
  let timer;
  let isOver = false;
  return new Promise((resolve) => {
    const end = () => {
      if (isOver) return;
      isOver = true;
      clearTimeout(timer);
      if (runner.exitCode === null) process.kill(-runner.pid, 'SIGKILL');
      resolve();
    };
    const cutOff = (how) => {
      if (isOver) return;
      end();
      foundWithoutEnd(how);
    };
    const wait = (seconds) => {
      clearTimeout(timer);
      timer = setTimeout(() => cutOff('no end'), 1000 * seconds);
    };
    runner.on('message', ({ ready, file, state, done }) => {
      if (ready) runner.send(asked.map(({ name }) => name));
      else if (done) end();
      else if (file === queue[0]?.name) ended(queue.shift(), state);
      // The first file loads all that is tested.
      if (!isOver && queue.length > 0) wait(limitOf(queue[0].file) + (queue.length === asked.length ? 120 : 0));
    });
    runner.on('exit', () => cutOff('the process ended'));
    wait(120);
  });
}
