import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**', '**/node_modules/**'],
    // The tests share no state that one file could leave to the next, and loading the engines once is half of the time.
    isolate: false,
    // A test that looks at nothing (a loop over an empty list) fails.
    expect: { requireAssertions: true },
    setupFiles: ['tests/support/seeds.ts'],
    // Two, however many cores there are: one waits for browsers and other processes much of the time.
    maxWorkers: 2,
    testTimeout: 60_000,
    hookTimeout: 60_000,
  },
});
