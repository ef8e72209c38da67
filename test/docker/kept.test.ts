// Every rule of the wire has a test that keeps it, and the table in docker/README.md names it. UPDATE_KEPT=1 writes it anew.
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { HOMIE, OF_OTHERS, RULES } from './rules.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const README = join(ROOT, 'docker/README.md');
const START = '<!-- kept by tests: start, generated -->';
const END = '<!-- kept by tests: end -->';
const ALL: Readonly<Record<string, string>> = { ...RULES, ...HOMIE };

interface Keeper {
  readonly title: string;
  readonly file: string;
}

/** Titles that begin with ids, one or several before a colon, by id. */
function keepers(): ReadonlyMap<string, readonly Keeper[]> {
  const found = new Map<string, Keeper[]>();
  const files = readdirSync(join(ROOT, 'test'), { recursive: true, encoding: 'utf8' });
  for (const file of files.filter((name) => name.endsWith('.test.ts')).toSorted()) {
    const text = readFileSync(join(ROOT, 'test', file), 'utf8');
    for (const [, , ids = '', words = ''] of text.matchAll(
      /(['"`])((?:[RTQSC]\d+)(?:, [RTQSC]\d+)*): ((?:(?!\1)[^\n\\]|\\.)+)\1/gu,
    )) {
      for (const id of ids.split(', ')) {
        const title = words.replaceAll(/\\(.)/gu, '$1');
        found.set(id, [...(found.get(id) ?? []), { title, file }]);
      }
    }
  }
  return found;
}

function table(
  rules: Readonly<Record<string, string>>,
  kept: ReadonlyMap<string, readonly Keeper[]>,
): string {
  const cell = (text: string) => text.replaceAll('|', '\\|').replaceAll('<', '&lt;');
  const rows = Object.entries(rules).map(([id, words]) => {
    const files = [...new Set((kept.get(id) ?? []).map(({ file }) => file))];
    const named = files.map((file) => {
      const titles = (kept.get(id) ?? []).filter((one) => one.file === file).map(({ title }) => cell(title));
      return `\`test/${file}\`: ${titles.join('; ')}`;
    });
    return `| ${id} | ${cell(words)} | ${named.length === 0 ? 'a rule for the other side' : named.join('<br>')} |`;
  });
  return ['| | what is kept | by |', '| --- | --- | --- |', ...rows].join('\n');
}

it('Every rule of the wire and of Homie is kept by a test, and no test names a rule that is none', () => {
  const kept = keepers();
  expect(Object.keys(ALL).filter((id) => !kept.has(id) && !OF_OTHERS.includes(id))).toEqual([]);
  expect([...kept.keys()].filter((id) => ALL[id] === undefined)).toEqual([]);
});

it('The table in docker/README.md is the one that the titles of the tests make', () => {
  const kept = keepers();
  const page = readFileSync(README, 'utf8');
  const [before, , after] = page.split(new RegExp(`${START}|${END}`, 'u'));
  const tables = `### The wire\n\n${table(RULES, kept)}\n\n### Homie 5\n\n${table(HOMIE, kept)}`;
  const wanted = `${before}${START}\n\n${tables}\n\n${END}${after}`;
  if (process.env.UPDATE_KEPT === '1') writeFileSync(README, wanted);
  else expect(page).toBe(wanted);
});
