// The tests that mutants of the core are held against: `npm run mutate`.
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: { include: ['test/control/*.test.ts', 'test/mutants/*.test.ts'], testTimeout: 60_000 },
});
