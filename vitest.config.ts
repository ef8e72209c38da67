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

/**
 * Rooms whose tests neither start processes nor put one module in the place of another: what they import is loaded once
 * in each process, not once for each file.
 */
const TOGETHER = ['control', 'engineering', 'protection', 'simulate', 'station', 'units'].map(
  (room) => `test/${room}/**/*.test.ts`,
);

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
          name: 'together',
          include: TOGETHER,
          exclude: TIMED,
          isolate: false,
          maxWorkers: availableParallelism() + 1,
          sequence: { groupOrder: 0 },
        },
      },
      {
        extends: true,
        test: {
          name: 'most',
          include: ['test/**/*.test.ts'],
          exclude: [...TIMED, ...TOGETHER],
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
