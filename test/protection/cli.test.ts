import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { htmlOf } from '../../src/protection/html.ts';
import { protectionOf } from '../../src/protection/report.ts';
import { textOf } from '../../src/protection/text.ts';
import { example, plantFrom } from '../station/stations.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const ONE_VAT = 'schemas/examples/one-vat.json';
const report = protectionOf(plantFrom(example('one-vat')));

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'protection-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const inFolder = (name: string) => join(folder, name);
const read = (name: string) => readFileSync(inFolder(name), 'utf8');

function check(...args: readonly string[]) {
  return spawnSync(process.execPath, ['dist/cli/main.js', 'check', ...args], { cwd: ROOT, encoding: 'utf8' });
}

// Each is a process of its own, and the machine may be busy.
describe('vatwarden check --report', { timeout: 120_000 }, () => {
  it('prints the report alone, with 0, and with 1 under --strict where the file has warnings', () => {
    const { status, stdout, stderr } = check(ONE_VAT, '--report');
    expect([status, stdout, stderr]).toEqual([0, textOf(report), '']);
    expect(check(ONE_VAT, '--report', '--strict').status).toBe(1);
  });

  it('writes it as text or as a page, by the name of the file, and prints what check prints', () => {
    const plain = check(ONE_VAT);
    for (const name of ['report.txt', 'report.html'])
      expect(check(ONE_VAT, '--report', inFolder(name))).toMatchObject({ status: 0, stdout: plain.stdout });
    expect(read('report.txt')).toBe(textOf(report));
    expect(read('report.html')).toBe(htmlOf(report));
  });

  it('goes with --json where it has a file of its own', () => {
    const { status, stdout } = check(ONE_VAT, '--json', '--report', inFolder('beside.txt'));
    expect([status, JSON.parse(stdout).ok]).toEqual([0, true]);
    expect(read('beside.txt')).toBe(textOf(report));
  });

  it.each([
    ['a name that is neither', [ONE_VAT, '--report', 'report.pdf'], 'must end in .txt or .html'],
    ['text and JSON on one output', [ONE_VAT, '--report', '--json'], 'leave out --json'],
    [
      'a folder that is not there',
      [ONE_VAT, '--report', 'no/such/report.txt'],
      "can't be written: no/such/report.txt: its folder is not there",
    ],
  ] as const)('refuses %s, with 2 and one line', (_, args, phrase) => {
    const { status, stdout, stderr } = check(...args);
    expect([status, stdout]).toEqual([2, '']);
    expect(stderr).toContain(phrase);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
  });

  it('writes nothing for a station file with errors', () => {
    const { status } = check('schemas/examples/marram-point.site.json', '--report', inFolder('none.html'));
    expect(status).toBe(2);
    expect(readdirSync(folder)).not.toContain('none.html');
  });
});
