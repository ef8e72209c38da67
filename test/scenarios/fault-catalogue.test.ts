// Every fault of the catalogue has its scenario, and the scenario shows what the table says that it shows.
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { catalogueTable, FAULT_CATALOGUE } from './fault-catalogue.ts';

const happened = (name: string): string =>
  readFileSync(`test/scenarios/${name}.txt`, 'utf8').split(/^---\n/mu)[1] ?? '';
const START = '<!-- faults: start, generated -->';
const END = '<!-- faults: end -->';

describe('the catalogue of faults', () => {
  test('holds F01 to F35, each once, and those that have no number', () => {
    const ids = FAULT_CATALOGUE.map(({ id }) => id);
    expect(new Set(ids).size).toBe(ids.length);
    const numbered = Array.from({ length: 35 }, (_, at) => `F${String(at + 1).padStart(2, '0')}`);
    expect(ids.filter((id) => /^F\d\d$/u.test(id))).toEqual(numbered);
    expect(ids.length - numbered.length).toBe(34);
  });

  test.each(FAULT_CATALOGUE)('$id, $words: its scenarios are there and show it', ({ scenarios, shows }) => {
    expect(scenarios.length).toBeGreaterThan(0);
    for (const name of scenarios) expect(existsSync(`test/scenarios/${name}.txt`), name).toBe(true);
    const texts = scenarios.map(happened);
    expect(
      texts.some((text) => shows.test(text)),
      `${shows} in ${scenarios.join(', ')}`,
    ).toBe(true);
    // Whatever goes wrong, nothing may be delivered outside tolerance.
    for (const text of texts) expect(text).toMatch(/of it outside tolerance 0\.0 L/u);
  });

  test('what it says of the wire is a file of tests', () => {
    const files = readdirSync('test', { recursive: true, encoding: 'utf8' });
    for (const { id, wire } of FAULT_CATALOGUE)
      if (wire !== undefined)
        expect(
          files.some((file) => file.endsWith(`/${wire}.test.ts`)),
          id,
        ).toBe(true);
  });

  test('is printed in test/README.md (UPDATE_CHECKS=1 writes it anew)', () => {
    const page = readFileSync('test/README.md', 'utf8');
    const [before, , after] = page.split(new RegExp(`${START}|${END}`, 'u')) as [string, string, string];
    const wanted = `${before}${START}\n\n${catalogueTable()}\n\n${END}${after}`;
    if (process.env.UPDATE_CHECKS === '1') writeFileSync('test/README.md', wanted);
    else expect(page).toBe(wanted);
  });
});
