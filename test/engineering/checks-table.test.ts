import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { checksTable } from '../reference/checks-table.ts';

const README = new URL('../README.md', import.meta.url);
const START = '<!-- outside checks: start, generated -->';
const END = '<!-- outside checks: end -->';

describe('test/README.md', () => {
  it('lists every check against the outside as the tests hold it (UPDATE_CHECKS=1 writes it anew)', () => {
    const page = readFileSync(README, 'utf8');
    const [before, , after] = page.split(new RegExp(`${START}|${END}`, 'u')) as [string, string, string];
    const wanted = `${before}${START}\n\n${checksTable()}\n\n${END}${after}`;
    if (process.env.UPDATE_CHECKS === '1') writeFileSync(README, wanted);
    else expect(page).toBe(wanted);
  });
});
