// Two groups. Most tests wait for brokers, pages and other processes more than they compute, so one more of them runs at a
// time than a small computer has cores. Those that measure come after, alone: each holds a ratio of two things measured in
// the same moment, which another program may blur and does not shift.
import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

const TIMED = [
  'test/bench/check.test.ts',
  'test/bridge/latency.test.ts',
  'test/panel/page/speed.test.ts',
  'test/panel/readers.test.ts',
  'test/simulate/lock-step.test.ts',
];

/** They put another module in the place of one of the product's, or count what a process holds: each has one to itself. */
const APART = [
  'test/bridge/duplicate-client.test.ts',
  'test/verify/explained.test.ts',
  'test/verify/rows-off/**/*.test.ts',
];

export default defineConfig({
  test: {
    // A wait costs nothing while it passes: none of these says how long something may take.
    testTimeout: 300_000,
    hookTimeout: 300_000,
    expect: { poll: { timeout: 120_000 } },
    projects: [
      {
        extends: true,
        test: {
          name: 'most',
          include: ['test/**/*.test.ts'],
          exclude: [...TIMED, ...APART],
          // What a file imports is loaded once in each process, not once for each file.
          isolate: false,
          maxWorkers: availableParallelism() + 1,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'apart',
          include: APART,
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
