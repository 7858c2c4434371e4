import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**', '**/node_modules/**'],
    // The tests share no state that one file could leave to the next, and loading the engines once is half of the time.
    isolate: false,
    testTimeout: 60_000,
    hookTimeout: 60_000,
  },
});
