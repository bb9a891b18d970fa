import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    benchmark: { include: ['tests/bench/**/*.bench.ts'] },
    testTimeout: 60_000,
    hookTimeout: 60_000,
    pool: 'forks',
    // One core is left over by default; the pages answer well enough on a shared one.
    maxWorkers: '100%',
  },
});
