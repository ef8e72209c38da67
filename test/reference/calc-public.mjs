#!/usr/bin/env node
// Pipes a list of cases through the built command and counts what passes:
//
//     node test/reference/calc-public.mjs [list.json]
//
// Without an argument the list is public.json beside this file. Needs `npm run build` first.
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
const list = readFileSync(process.argv[2] ?? new URL('public.json', import.meta.url), 'utf8');
const cases = JSON.parse(list);

const { stdout, stderr, error } = spawnSync(process.execPath, [main, 'calc', '--json'], {
  input: list,
  encoding: 'utf8',
  maxBuffer: 64 * 1024 * 1024,
});
if (error) throw error;
const answers = stdout
  .split('\n')
  .filter((line) => line !== '')
  .map((line) => JSON.parse(line));
if (answers.length !== cases.length) {
  process.stderr.write(`${answers.length} answers to ${cases.length} cases\n${stderr}`);
  process.exit(1);
}

/** Why an answer fails its case, or nothing. */
function fault({ expected, tolerance }, answer) {
  if (answer.error !== undefined) return answer.error;
  if (answer.value === null) return `no answer: ${answer.note}`;
  if (answer.unit !== expected.unit) return `in ${answer.unit} instead of ${expected.unit}`;
  const allowed = tolerance.absolute ?? tolerance.relative * Math.abs(expected.value);
  const off = Math.abs(answer.value - expected.value);
  return off <= allowed
    ? undefined
    : `${answer.value} instead of ${expected.value}, off by ${off} of ${allowed}`;
}

const counts = new Map();
const faults = [];
cases.forEach((oneCase, index) => {
  const found = fault(oneCase, answers[index]);
  const count = counts.get(oneCase.quantity) ?? { passed: 0, failed: 0 };
  count[found === undefined ? 'passed' : 'failed']++;
  counts.set(oneCase.quantity, count);
  if (found !== undefined) faults.push(`${oneCase.id}: ${found}`);
});

const width = Math.max(...[...counts.keys()].map((quantity) => quantity.length));
process.stdout.write(`${'quantity'.padEnd(width)}  passed  failed\n`);
for (const [quantity, { passed, failed }] of counts) {
  process.stdout.write(
    `${quantity.padEnd(width)}  ${String(passed).padStart(6)}  ${String(failed).padStart(6)}\n`,
  );
}
process.stdout.write(`\n${cases.length - faults.length} of ${cases.length} passed\n`);
for (const each of faults) process.stdout.write(`${each}\n`);
process.exitCode = faults.length === 0 ? 0 : 1;
