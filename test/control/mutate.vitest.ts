// The tests that mutants of the core are held against: `npm run mutate`. The quick and direct ones: a mutant that only a
// simulated day would notice is one that nobody could explain.
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['test/control/{commands,contents,judging}.test.ts', 'test/protection/generated.test.ts'],
    testTimeout: 60_000,
  },
});
