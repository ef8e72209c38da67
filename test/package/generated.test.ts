// The list of licences, and what has to be true of it: complete, current, and nothing in it that MIT could not live with.
import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { BUILT_IN, builtIn, installed, isCompatible, licencesPage } from './licences.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const read = (file: string): string => readFileSync(`${ROOT}${file}`, 'utf8');

it('the list of licences is current', async () => {
  await expect(licencesPage()).toMatchFileSnapshot('../../LICENCES.md');
});

it('every part that is shipped has a licence that may be used together with MIT', () => {
  const parts = [...installed(), ...builtIn()];
  expect(parts.length).toBeGreaterThan(50);
  expect(parts.filter(({ licence }) => !isCompatible(licence))).toEqual([]);
  expect(['GPL-3.0-only', 'none stated', 'MIT AND GPL-2.0-only'].map(isCompatible)).toEqual([
    false,
    false,
    false,
  ]);
  expect(isCompatible('(MIT OR WTFPL)')).toBe(true);
});

it('what the page and the charts import is in the list of what is built in', () => {
  const page = readdirSync(`${ROOT}src/panel/page`, { recursive: true, encoding: 'utf8' })
    .filter((file) => /\.(tsx?|css)$/u.test(file) && !file.endsWith('vite.config.ts'))
    .map((file) => read(`src/panel/page/${file}`));
  const found = [...page, read('src/plan/charts.ts')].flatMap((text) =>
    [...text.matchAll(/(?:from|import|url\()\s*['"]((?:@[\w-]+\/)?[a-z][\w-]*)(?:\/[^'"]*)?['"]/gu)].map(
      ([, name]) => name ?? '',
    ),
  );
  const outside = new Set(found.filter((name) => !name.startsWith('node')));
  expect(outside.size).toBeGreaterThan(2);
  expect([...outside].filter((name) => !(BUILT_IN as readonly string[]).includes(name))).toEqual([]);
});

it('the version stands in one place, and the list of changes begins with it', () => {
  const { version } = JSON.parse(read('package.json'));
  expect(version).toMatch(/^\d+\.\d+\.\d+$/u);
  expect(read('CHANGELOG.md')).toMatch(new RegExp(`^# Changes\\n\\n(?:.*\\n)*?## ${version}\\b`, 'u'));
  const elsewhere = readdirSync(`${ROOT}src`, { recursive: true, encoding: 'utf8' })
    .filter((file) => /\.tsx?$/u.test(file))
    .filter((file) => read(`src/${file}`).includes(`'${version}'`));
  expect(elsewhere).toEqual([]);
});
