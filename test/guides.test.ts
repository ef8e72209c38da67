// What a guide names is there: every path, link, script, command and option in it; and what it shows as a block of `sh` runs.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { wholeProgram } from '../src/cli/program.ts';

const GUIDES = [
  'README.md',
  'DEVELOPERS.md',
  'schemas/README.md',
  'docker/README.md',
  'test/README.md',
  'CHANGELOG.md',
  'ERRORS.md',
  // What belongs to one room, beside it.
  ...readdirSync('src', { recursive: true, encoding: 'utf8' })
    .filter((name) => basename(name) === 'README.md')
    .map((name) => join('src', name)),
];
const program = await wholeProgram();
const { scripts } = JSON.parse(readFileSync('package.json', 'utf8'));
const files = ['src', 'test', 'schemas', 'docker'].flatMap((folder) =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' }).map((name) => join(folder, name)),
);
const names = new Set([...files, ...readdirSync('.')].map((file) => basename(file)));

/** Where a name may begin: at the top, beside the guide, or in a room that the paragraph is about. */
function isThere(path: string, guide: string): boolean {
  const starts = ['.', 'src', dirname(guide), ...readdirSync('src').map((room) => join('src', room))];
  const pattern = path.replace(
    /[.*{},]/gu,
    (sign) => ({ '.': '\\.', '*': '[^/]*', '{': '(?:', '}': ')', ',': '|' })[sign] ?? sign,
  );
  const fits = new RegExp(`^${pattern.replace(/\/$/u, '')}$`, 'u');
  if (!path.includes('/')) return [...names].some((name) => fits.test(name));
  return starts.some(
    (start) =>
      existsSync(join(start, path)) ||
      files.some((file) => fits.test(file.slice(start === '.' ? 0 : start.length + 1))),
  );
}

describe.each(GUIDES)('%s', (guide) => {
  const text = readFileSync(guide, 'utf8');
  const ticked = [...text.matchAll(/`([^`\n]+)`/gu)].map(([, words]) => words ?? '');

  it('names files that there are', () => {
    const paths = ticked.filter((words) =>
      /^[\w./*{},-]+\.(?:tsx?|mjs|md|json|patch|conf|yaml|service|txt)$/u.test(words),
    );
    // What a person makes, and what a running service writes.
    const theirs = /^(?:site\/|state\.json|panel\.json|announced\.json|station\.json|journal)/u;
    expect(paths.filter((path) => !theirs.test(path) && !isThere(path, guide))).toEqual([]);
  });

  it('links to what there is', () => {
    const links = [...text.matchAll(/\]\(([^)#\s]+)[^)]*\)|src="([^"]+)"/gu)].map(([, a, b]) => a ?? b ?? '');
    const own = links.filter((link) => !/^https?:/u.test(link));
    expect(own.filter((link) => !existsSync(join(dirname(guide), link)))).toEqual([]);
  });

  it('calls scripts that there are', () => {
    const called = [...text.matchAll(/npm run ([a-z]+)/gu)].map(([, name]) => name ?? '');
    expect(called.filter((name) => !(name in scripts))).toEqual([]);
  });

  it('calls commands that there are, with options that they have', () => {
    const known = program.commands.map((command) => command.name());
    const wrong = [...text.matchAll(/\bvatwarden ([a-z]+)([^`\n#>|]*)/gu)].flatMap(([line, name, rest]) => {
      const command = program.commands.find((one) => one.name() === name);
      if (command === undefined)
        return known.includes(name ?? '') || !/`vatwarden/u.test(`\`${line}`)
          ? []
          : [`${line}: no such command`];
      const options = [...(rest ?? '').matchAll(/(?:^|\s)(--[a-z-]+)/gu)].map(([, option]) => option ?? '');
      const has = [...command.options.map(({ long }) => long), '--help'];
      return options.filter((option) => !has.includes(option)).map((option) => `${line}: no ${option}`);
    });
    expect(wrong.filter((words) => !/^vatwarden (?:and|is|has|must|wire FILE)/u.test(words))).toEqual([]);
  });
});

it('schemas/README.md: its sh blocks run, in order, in an empty folder', () => {
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-wiring-'));
  try {
    const page = readFileSync('schemas/README.md', 'utf8');
    const blocks = [...page.matchAll(/```sh\n([\s\S]*?)```/gu)].map(([, block]) => block ?? '');
    expect(blocks.length).toBeGreaterThanOrEqual(4);
    const main = join(process.cwd(), 'dist/cli/main.js');
    const script = ['set -eu', `vatwarden() { "${process.execPath}" "${main}" "$@"; }`, ...blocks].join('\n');
    const { status, stderr } = spawnSync('sh', ['-c', script], { cwd: folder, encoding: 'utf8' });
    expect([status, stderr.match(/\[E-\d+\]/gu)]).toEqual([0, null]);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});

it('DEVELOPERS.md stays short: what belongs to one room lies beside it, and is linked', () => {
  const text = readFileSync('DEVELOPERS.md', 'utf8');
  expect(text.split(/\s+/u).length).toBeLessThan(1_700);
  const beside = GUIDES.filter((guide) => guide.startsWith('src/'));
  expect(beside.length).toBeGreaterThan(5);
  expect(beside.filter((guide) => !text.includes(`](${guide})`))).toEqual([]);
});

it('the glossary sends nobody to a file that does not know the word', () => {
  const text = readFileSync('DEVELOPERS.md', 'utf8');
  const page = text.slice(text.indexOf('## The words'), text.indexOf('## Adding to it'));
  const rows = [...page.matchAll(/^\| (?!word|---)(.+?) \| .+? \| (.+?) \|$/gmu)];
  expect(rows.length).toBeGreaterThan(12);
  const strangers = rows.flatMap(([, words = '', places = '']) => {
    const known = [...places.matchAll(/`(.+?)`/gu)]
      .map(([, path]) =>
        readFileSync(path ?? '', 'utf8')
          .toLowerCase()
          .replace(/[^a-z]/gu, ''),
      )
      .join(' ');
    return words.split(', ').filter((word) => !known.includes(word.replace(/ /gu, '')));
  });
  expect(strangers).toEqual([]);
});
