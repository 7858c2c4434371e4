/** Steps of a session: in order, one line each; a failed step does not stop the next. */

const results = { passed: 0, failed: 0 };
let onFailure = async () => {};

/** Called with the step's name after each failure, for a picture of what was to be seen. */
export function picturesOfFailures(take) {
  onFailure = take;
}

export async function step(name, body) {
  if (!name.includes(process.env.CAISSON_ONLY ?? '')) return;
  try {
    await body();
    results.passed++;
    console.log(`ok    ${name}`);
  } catch (error) {
    results.failed++;
    console.log(
      `FAIL  ${name}: ${String(error?.message ?? error)
        .split('\n')
        .slice(0, 6)
        .join(' / ')}`,
    );
    await onFailure(name).catch(() => {});
  }
}

/** Prints the closing line; the exit code tells whether all passed. */
export function close() {
  console.log(`${results.passed} passed, ${results.failed} failed`);
  process.exitCode = results.failed === 0 && results.passed > 0 ? 0 : 1;
}

/** Waits until `probe` gives something true; says what it waited for where it does not. */
export async function until(what, probe, ms = 20_000) {
  const end = Date.now() + ms;
  for (;;) {
    const value = await probe();
    if (value) return value;
    if (Date.now() > end) throw new Error(`waited ${ms / 1000} s for ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

export function equal(actual, expected, what) {
  if (actual !== expected) throw new Error(`${what}: ${JSON.stringify(actual)} instead of ${JSON.stringify(expected)}`);
}

export function ok(value, what) {
  if (!value) throw new Error(what);
}
