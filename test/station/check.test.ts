import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { deriveRows } from '../../src/control/guard/interlocks.ts';
import { eventWords } from '../../src/protection/events.ts';
import { gapsOf } from '../../src/station/gaps.ts';
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
  const { stdout } = check('schemas/examples/marram-point.json', '--all');
  const printed = [...stdout.matchAll(/^ {2}(I-\d\d\S*) {2}(?:block|trip)s /gmu)].map(([, key]) => key);
  expect(printed.toSorted()).toEqual(rows.map(({ key }) => key).toSorted());
  expect(stdout).toContain(`Interlocks that follow from this (${rows.length})`);
});

it('Every gap of the station is printed with what closes it, and every single failure that is enough', () => {
  const file = 'schemas/examples/one-vat.json';
  const { stdout } = check(file);
  const all = check(file, '--all').stdout;
  for (const { id, fit, when } of gapsOf(plantFrom(example('one-vat')))) {
    expect(stdout).toContain(`  ${id}  `);
    expect(stdout).toContain(`To close the gap: ${fit}`);
    const words = when.map((event) => eventWords(plantFrom(example('one-vat')), event)).join(', and ');
    expect(when.length > 1 ? all : stdout).toContain(`${words}; then `);
  }
  expect(stdout).toContain('drain-pump runs on; then drain-pump runs dry');
});

it('A station without a master valve gets the gap of its fill valve, and one with a master does not', () => {
  const gaps = (name: string) => check(`test/stations/${name}.json`).stdout.match(/^ {2}G-\d\d/gmu) ?? [];
  expect(gaps('gravity')).not.toContain('  G-01');
  expect(gaps('by-hand')).toContain('  G-02');
});

it('What was assumed is printed, and what follows from the table is counted unless it is asked for', () => {
  const { stdout } = check('schemas/examples/marram-point.json');
  expect(stdout).toMatch(/^Assumed, because the file does not say it \(\d+\)/mu);
  expect(stdout).toMatch(/^ {2}\/routes\/ID\/startsPerHour +30 +\(transfer, circulate, supply, drain\)$/mu);
  expect(stdout).toMatch(/^Interlocks that follow from this \(\d+\): --all prints each$/mu);
  expect(stdout.split('\n').length).toBeLessThan(150);
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
  expect(answer.rows[0]).toMatchObject({ id: 'I-01', action: 'block' });
  expect(answer.gaps[0]).toMatchObject({ id: 'G-02', fit: expect.any(String), when: expect.any(Array) });
  expect(answer.assumed).toContainEqual(expect.objectContaining({ at: '/process/batch/trims', value: '4' }));
});
