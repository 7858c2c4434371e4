/** A small test runner for inside the extension host: tests in order, one line each, a closing line that the launcher reads. */

interface Test {
  readonly name: string;
  readonly body: () => Promise<void>;
}

const LIMIT_MS = 45_000;
const all: Test[] = [];

export function test(name: string, body: () => Promise<void>): void {
  all.push({ name, body });
}

/** Runs everything; resolves with the number of failures. */
export async function runAll(): Promise<number> {
  let failed = 0;
  // `CAISSON_ONLY=rename npm run test:editor` runs the tests whose name has this in it.
  const chosen = all.filter(({ name }) => name.includes(process.env['CAISSON_ONLY'] ?? ''));
  for (const { name, body } of chosen) {
    const reason = await outcome(body);
    if (reason === null) say(`ok    ${name}`);
    else say(`FAIL  ${name}: ${reason}`);
    if (reason !== null) failed++;
  }
  say(`${chosen.length - failed} passed, ${failed} failed`);
  return failed;
}

async function outcome(body: () => Promise<void>): Promise<string | null> {
  let timer: NodeJS.Timeout | undefined;
  const limit = new Promise<string>((resolve) => {
    timer = setTimeout(() => resolve(`did not end within ${LIMIT_MS / 1000} s`), LIMIT_MS);
  });
  try {
    return await Promise.race([body().then(() => null), limit]);
  } catch (error) {
    return error instanceof Error
      ? `${error.message} ${error.stack?.split('\n')[1]?.trim() ?? ''}`.replace(/\n/g, ' ')
      : String(error);
  } finally {
    clearTimeout(timer);
  }
}

function say(line: string): void {
  console.log(`[suite] ${line}`);
}
