import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { deriveRows } from '../../src/control/interlocks.ts';
import { EXAMPLES, example, plantFrom } from './stations.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

function check(...args: readonly string[]) {
  return spawnSync(process.execPath, ['dist/cli/main.js', 'check', ...args], { cwd: ROOT, encoding: 'utf8' });
}

const lastLine = (text: string) => text.trimEnd().split('\n').at(-1);

it('A station without gaps exits with 0, also with --strict, and says so in its last line', () => {
  const { status, stdout, stderr } = check('schemas/examples/marram-point.json', '--strict');
  expect([status, stderr, lastLine(stdout)]).toEqual([0, '', '0 errors, 0 warnings']);
});

it('A station with gaps exits with 0, and with 1 under --strict', () => {
  const file = 'schemas/examples/one-vat.json';
  const { status, stdout } = check(file);
  expect(status).toBe(0);
  expect(lastLine(stdout)).toMatch(/^0 errors, [1-9]\d* warnings$/u);
  expect(stdout).toContain('To close the gap: A contactor before the relay');
  expect(check(file, '--strict').status).toBe(1);
});

it('A file that is not there exits with 2 and one line', () => {
  const { status, stdout, stderr } = check('schemas/examples/no-such.json');
  expect([status, stdout]).toEqual([2, '']);
  expect(stderr).toMatch(
    /^check: the station file can't be read: schemas\/examples\/no-such\.json: .*\[E-201\]\n$/u,
  );
});

it('The plumbing is drawn as text, with what cuts each route off', () => {
  const { stdout } = check('schemas/examples/unequal-vats.json');
  expect(stdout).toMatch(
    /transfer +fresh --\(draw-fresh, pump, to-mixing\)--> mixing +9\.\.14 L\/min +transfer +cut off by pump-contactor +never with circulate, supply/u,
  );
  expect(stdout).toMatch(
    /fresh +fresh +500 L, usable 25\.\.485 L +floats: low 35 L, high 460 L, overflow 475 L/u,
  );
  expect(stdout).toMatch(/heater-relay +heater +lease 20 s, counted by the device +off proven by feedback/u);
});

it('What no software can hold is said every time', () => {
  for (const name of EXAMPLES) {
    const { stdout } = check(`schemas/examples/${name}.json`);
    expect(stdout).toContain('These must be hard-wired and work with the computer off');
    expect(stdout).toContain('mains near salt water can kill');
    expect(stdout).toContain('claims no conformity and no safety level');
  }
});

it('Every interlock that the core derives is printed, and no other', () => {
  const rows = deriveRows(plantFrom(example('marram-point')));
  const { stdout } = check('schemas/examples/marram-point.json');
  const printed = [...stdout.matchAll(/^ {2}(I-\d\d\S*) {2}(?:block|trip)s /gmu)].map(([, key]) => key);
  expect(printed.toSorted()).toEqual(rows.map(({ key }) => key).toSorted());
  expect(stdout).toContain(`Interlocks that follow from this (${rows.length})`);
});

it('With --json the same is data: no errors, the warnings, the plant and its interlocks', () => {
  const { status, stdout } = check('schemas/examples/unequal-vats.json', '--json');
  const answer = JSON.parse(stdout);
  expect(status).toBe(0);
  expect(answer).toMatchObject({
    ok: true,
    errors: [],
    plant: { id: 'marram-quarantine', freshId: 'fresh' },
  });
  expect(answer.warnings.map(({ id }: { id: string }) => id)).toContain('W-20');
  expect(answer.rows[0]).toMatchObject({ id: 'I-01', response: 'block' });
});
