// Two groups. Most tests wait for brokers, pages and other processes more than they compute, so one more of them runs at a
// time than a small computer has cores. Those that hold real time against a bound come after, alone.
import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

const TIMED = [
  'test/bench/check.test.ts',
  'test/bridge/clockwork.test.ts',
  'test/bridge/latency.test.ts',
  'test/bridge/link.test.ts',
  'test/journal/speed.test.ts',
  'test/panel/page/dead.test.ts',
  'test/panel/page/speed.test.ts',
  'test/panel/readers.test.ts',
  'test/simulate/lock-step.test.ts',
];

export default defineConfig({
  test: {
    testTimeout: 60_000,
    projects: [
      {
        extends: true,
        test: {
          name: 'most',
          include: ['test/**/*.test.ts'],
          exclude: TIMED,
          maxWorkers: availableParallelism() + 1,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: { name: 'timed', include: TIMED, maxWorkers: 1, sequence: { groupOrder: 1 } },
      },
    ],
  },
});
