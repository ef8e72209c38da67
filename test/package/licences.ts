// Under which licences the parts come that Vatwarden is shipped with: those that npm installs beside it, and those that are
// built into its own files.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));

/** They ask for their notice, and for nothing of ours. A choice (`A OR B`) counts with either. */
export const COMPATIBLE = new Set([
  'MIT',
  'MIT-0',
  // Its conditions hold for its own files alone, which are shipped as they come (web-push).
  'MPL-2.0',
  'ISC',
  '0BSD',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'Apache-2.0',
  'BlueOak-1.0.0',
  'OFL-1.1',
]);

/** Built into dist/: the page's means, and the one that draws a plan's charts. */
export const BUILT_IN = [
  '@fontsource-variable/atkinson-hyperlegible-next',
  '@preact/signals',
  '@preact/signals-core',
  'echarts',
  'preact',
  'uplot',
  'zrender',
] as const;

export interface Part {
  readonly name: string;
  readonly version: string;
  readonly licence: string;
}

interface Locked {
  readonly version: string;
  readonly dev?: true;
  readonly license?: string;
}

const packages: Readonly<Record<string, Locked>> = JSON.parse(
  readFileSync(join(ROOT, 'package-lock.json'), 'utf8'),
).packages;

/** What `npm ci --omit=dev` installs, as the lock file says. */
export function installed(): readonly Part[] {
  return Object.entries(packages)
    .filter(([path, { dev }]) => path !== '' && dev !== true)
    .map(([path, locked]) => partOf(path.replace(/^.*node_modules\//u, ''), locked))
    .toSorted((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : a.version < b.version ? -1 : 1));
}

export function builtIn(): readonly Part[] {
  return BUILT_IN.map((name) => partOf(name, packages[`node_modules/${name}`] as Locked));
}

function partOf(name: string, { version, license }: Locked): Part {
  return { name, version, licence: license ?? 'none stated' };
}

export function isCompatible(licence: string): boolean {
  const choices = licence.replace(/[()]/gu, '').split(' OR ');
  return choices.some((choice) => choice.split(' AND ').every((one) => COMPATIBLE.has(one)));
}

/** What the authors ask to be handed on with their files. */
function notices(name: string): readonly string[] {
  const folder = join(ROOT, 'node_modules', name);
  return readdirSync(folder)
    .filter((file) => /^(licen[cs]e|notice|copying)/iu.test(file) && !existsSync(join(folder, file, 'x')))
    .filter((file) => !/^licenses$/iu.test(file))
    .toSorted()
    .map((file) => readFileSync(join(folder, file), 'utf8').trim());
}

export function licencesPage(): string {
  const row = ({ name, version, licence }: Part) => `| ${name} | ${version} | ${licence} |`;
  const head = ['| part | version | licence |', '| --- | --- | --- |'];
  const texts = builtIn().flatMap(({ name, version }) => [
    `### ${name} ${version}`,
    '',
    ...notices(name).flatMap((text) => ['```text', text, '```', '']),
  ]);
  return [
    '# What is shipped with Vatwarden, and under which licences',
    '',
    'Generated from `package-lock.json` and the parts themselves by `npm run generate`. Vatwarden itself is MIT, see `LICENSE`.',
    'All of them are permissive and may be used together with it.',
    '',
    '## Built into its files',
    '',
    ...head,
    ...builtIn().map(row),
    '',
    '## Installed beside it',
    '',
    ...head,
    ...installed().map(row),
    '',
    '## Notices of what is built in',
    '',
    ...texts,
  ].join('\n');
}
