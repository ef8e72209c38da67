// The gate in its shortest form: two ratios against the stored ones, on a machine that does something else as well, so with
// much patience. `npm run bench:check` holds all of them, closer.
import { spawnSync } from 'node:child_process';
import { expect, test } from 'vitest';
import { worseBy } from './aims.ts';

const check = (...args: string[]) =>
  spawnSync(
    process.execPath,
    ['--import', './test/bench/tools/typescript.mjs', 'test/bench/check.ts', ...args],
    { encoding: 'utf8' },
  );

test('steps and durable steps cost no more than three times what is stored, by what they are measured against', () => {
  const { status, stdout, stderr } = check('--tolerance', '3', 'core', 'journal');
  expect(stdout + stderr).toContain('all ratios within the factor 3');
  expect(status).toBe(0);
}, 180_000);

test('a ratio is worse when there is less of what should be more, or more of what should be less', () => {
  const held = { part: 'core', figure: 'by-chart', words: '' };
  expect(worseBy({ ...held, better: 'more' }, 1, 3)).toBe(3);
  expect(worseBy({ ...held, better: 'more' }, 3, 1)).toBeLessThan(1);
  expect(worseBy({ ...held, better: 'less' }, 3, 1)).toBe(3);
});

test('a tolerance that is none is refused', () => {
  const { status, stderr } = check('--tolerance', 'much');
  expect(stderr).toContain('give a factor greater than 1');
  expect(status).toBe(2);
});
