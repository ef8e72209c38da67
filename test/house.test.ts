// The house rules that a machine can hold: imports point one way, the core is pure, rooms stay readable.
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { describe, expect, test } from 'vitest';

/** Ground first; a room may import itself and what stands in its list. */
const MAY_IMPORT: Readonly<Record<string, readonly string[]>> = {
  errors: [],
  mqtt: [],
  units: [],
  engineering: [],
  calc: ['errors', 'units', 'engineering'],
  station: ['units', 'engineering'],
  language: ['station'],
  control: ['engineering', 'station', 'language'],
  simulate: ['errors', 'mqtt', 'units', 'engineering', 'station'],
  bridge: ['errors', 'mqtt', 'units', 'engineering', 'station', 'language', 'control'],
  journal: ['errors', 'engineering', 'station', 'language', 'control'],
  hub: ['errors', 'mqtt', 'units', 'engineering', 'station', 'language', 'control'],
  verify: ['errors', 'units', 'engineering', 'station', 'language', 'control', 'simulate', 'journal'],
  plan: ['errors', 'units', 'engineering', 'station', 'language', 'control', 'simulate', 'verify'],
  // Above the plan: its page is printed with the plan's means.
  commission: ['errors', 'mqtt', 'units', 'engineering', 'station', 'language', 'control', 'bridge', 'plan'],
  notify: ['errors', 'station', 'language', 'control'],
  // Above the plan: its pages are printed with the plan's means.
  protection: ['errors', 'units', 'engineering', 'station', 'language', 'control', 'plan'],
  panel: [
    'errors',
    'units',
    'engineering',
    'station',
    'language',
    'control',
    'simulate',
    'journal',
    'verify',
  ],
};

const files = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .filter((file) => /\.tsx?$/.test(file))
  .map((file) => ({
    path: join('src', file),
    room: file.split('/')[0] ?? '',
    text: readFileSync(join('src', file), 'utf8'),
  }));

const importsOf = (text: string): string[] =>
  [...text.matchAll(/(?:from|import)\s+'([^']+)'/g)].map((match) => match[1] as string);

/** Those of `import('...')` among them, which a type may be taken by. */
const namesIn = (text: string): string[] => [
  ...importsOf(text),
  ...[...text.matchAll(/import\(\s*'([^']+)'/g)].map((match) => match[1] as string),
];

describe('the house', () => {
  test('imports point one way: no room looks into one that stands above it', () => {
    const wrong = files.flatMap(({ path, room, text }) => {
      if (room === 'cli') return [];
      const allowed = MAY_IMPORT[room];
      if (allowed === undefined) return [`${path}: the room '${room}' has no row`];
      return importsOf(text)
        .filter((name) => name.startsWith('.'))
        .map((name) => normalize(join(dirname(path), name)).split('/')[1] ?? '')
        .filter((to) => to !== room && !allowed.includes(to) && to in { ...MAY_IMPORT, cli: [] })
        .map((to) => `${path} imports ${to}`);
    });
    expect(wrong).toEqual([]);
  });

  test('the guard stands alone: it imports nothing of the process, types included (IEC 61511: protection apart from control)', () => {
    const guard = files.filter(({ path }) => path.startsWith('src/control/guard/'));
    const crossing = guard.flatMap(({ path, text }) =>
      namesIn(text)
        .filter((name) => name.startsWith('.'))
        .map((name) => normalize(join(dirname(path), name)))
        .filter((to) => to.startsWith('src/control/') && !to.startsWith('src/control/guard/'))
        .map((to) => `${path} imports ${to}`),
    );
    expect(guard.length).toBeGreaterThan(0);
    expect(crossing).toEqual([]);
  });

  // biome-ignore format: a table reads as a table
  test.each<[RegExp, string]>([
    [/\bDate\b/, 'time is an event field: elapsedMs'],
    [/Math\.random/, 'the core draws no lots'],
    [/\b(setTimeout|setInterval|setImmediate|queueMicrotask)\b/, 'waits are durations in the state'],
    [/\b(async|await|Promise)\b/, 'the core performs nothing: it returns effects'],
    [/\bprocess\.(env|exit|on|argv|hrtime)/, 'what the core needs comes as an event or in the plant'],
    [/\bconsole\./, 'a record is an effect'],
    [/from '(node:|rxjs|mqtt|ajv|pino)/, 'IO lives outside the core'],
  ])('the core is pure: %s does not occur in it (%s)', (banned) => {
    const core = files.filter(({ room }) => room === 'control' || room === 'engineering');
    const code = (text: string) => text.replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '').replace(/'[^'\n]*'|`[^`]*`/g, (literal) => (literal.startsWith("'") ? literal : ''));
    expect(core.filter(({ text }) => banned.test(code(text))).map(({ path }) => path)).toEqual([]);
  });

  test('a file opens by saying what it is for, and none must be scrolled through', () => {
    const made = /generated|\.d\.ts$/;
    const silent = files
      .filter(({ path, text }) => !made.test(path) && !/^(#!.*\n)?(\/\/|\/\*)/.test(text))
      .map(({ path }) => path);
    expect(silent).toEqual([]);
    const long = files
      .filter(({ path, text }) => !made.test(path) && text.split('\n').length > (LONGER[path] ?? 330))
      .map(({ path }) => path);
    expect(long).toEqual([]);
  });

  test('every interlock row that the code names is named in a test title', () => {
    const ids = new Set(
      files.filter(({ room }) => room === 'control').flatMap(({ text }) => text.match(/\bI-\d\d\b/g) ?? []),
    );
    const tests = readFileSync('test/control/rows.test.ts', 'utf8');
    expect([...ids].filter((id) => !tests.includes(id))).toEqual([]);
  });

  test('one file opens connections to a broker; what others take of the package is types', () => {
    const opening = files
      .filter(({ text }) => /^import (?!type )[^;]* from 'mqtt';/mu.test(text))
      .map(({ path }) => path);
    expect(opening).toEqual(['src/mqtt/client.ts']);
  });

  test("nothing hangs on the text of a row's id or key: a row has properties for that", () => {
    const said = (text: string): string[] =>
      text
        .replace(/\/\*[\s\S]*?\*\/|^\s*\/\/.*$|\s\/\/ .*$/gm, '')
        .split('\n')
        .filter((line) => BY_ROW_ID.test(line))
        .map((line) => line.trim());
    const found = files.flatMap(({ path, text }) =>
      HOME_OF_IDS.includes(path) ? [] : said(text).map((line) => `${path}: ${line}`),
    );
    expect(found.filter((one) => !Object.keys(NAMES_IDS).some((path) => one.startsWith(`${path}:`)))).toEqual(
      [],
    );
    for (const [path, count] of Object.entries(NAMES_IDS))
      expect(found.filter((one) => one.startsWith(`${path}:`)).length, path).toBe(count);
  });

  test('nothing is left for later', () => {
    expect(
      files.filter(({ text }) => /\b(TODO|FIXME|XXX|HACK)\b/.test(text)).map(({ path }) => path),
    ).toEqual([]);
  });
});

/** Longer than 330 lines, and why. */
const LONGER: Readonly<Record<string, number>> = {
  // One literal table, a row for each kind of interlock: splitting it would hide what belongs side by side.
  'src/control/guard/rows.ts': 650,
};

/** The id of a row in a string or a pattern, or a key that is cut into its parts. */
const BY_ROW_ID = /\bI-(?:\d|\[|\(|\\d|\$)|\bkey\.split\('\/'\)|\bkey\.startsWith\((?:`|'[A-Z])/;
/** The table, and what spreads it. */
const HOME_OF_IDS = ['src/control/guard/rows.ts', 'src/control/guard/interlocks.ts'];
/** Lines that name a row or cut a key to show it, and decide nothing by it. */
const NAMES_IDS: Readonly<Record<string, number>> = {
  // An example of a key, for whoever has to write one.
  'src/cli/check-text.ts': 1,
  'src/bridge/request-schema.ts': 1,
  'src/hub/row.ts': 1,
  'src/hub/table.ts': 1,
  'src/journal/keeping.ts': 1,
  'src/cli/replay.ts': 2,
  // The row of a lost memory, by its name, in a sentence.
  'src/bridge/wake-up.ts': 1,
  'src/cli/backup.ts': 1,
  // Two alarms that stand for every row I-28 of the station.
  'src/control/process/proof-news.ts': 1,
  // A long key may break where it is put together.
  'src/protection/html.ts': 1,
};
