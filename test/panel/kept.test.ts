import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { Coded } from '../../src/errors/coded.ts';
import { readPanelFile } from '../../src/panel/configuration.ts';
import { keepBooks, keptIn } from '../../src/panel/kept.ts';
import { panelStation } from '../tools/panel-station.ts';

const folder = mkdtempSync(join(tmpdir(), 'panel-'));
afterAll(() => rmSync(folder, { recursive: true }));
const HOUR_MS = 3_600_000;

describe('books over a restart', () => {
  test('what was kept is found, whole', async () => {
    const station = panelStation();
    await station.source.countSalt?.(40);
    station.run(HOUR_MS);
    const file = join(folder, 'books.json');
    await keepBooks(file, station.source, () => {}).close();
    expect(keptIn(file)).toEqual({ kept: JSON.parse(JSON.stringify(station.source.kept())), words: null });
    expect(existsSync(`${file}.new`)).toBe(false);
  });

  test.each(['', '{"version":1', '[]', '{"version":2}', '{"version":1,"batches":3}'])(
    'a file that is no book (%s) is put aside and not lost',
    (text) => {
      const file = join(folder, 'spoilt.json');
      writeFileSync(file, text);
      const { kept, words } = keptIn(file);
      expect(kept).toBeNull();
      expect(words).toContain('put aside');
      expect(readFileSync(`${file}.unreadable`, 'utf8')).toBe(text);
      expect(existsSync(file)).toBe(false);
    },
  );

  test('a folder that can not be written is told once, and the station goes on', async () => {
    const station = panelStation();
    const told: string[] = [];
    const keeping = keepBooks(join(folder, 'nowhere', 'books.json'), station.source, (words) =>
      told.push(words),
    );
    await keeping.close();
    await keeping.close();
    expect(told).toHaveLength(1);
    expect(told[0]).toContain("can't be written");
  });
});

describe("the panel's own file", () => {
  const write = (value: unknown): string => {
    const file = join(folder, 'panel.json');
    writeFileSync(file, typeof value === 'string' ? value : JSON.stringify(value));
    return file;
  };
  const people = [{ name: 'Ada', may: 'act', password: 'scrypt$32768$8$1$AAAA$AAAA' }];

  test('address, wire and people are read, the certificate from beside it', () => {
    writeFileSync(join(folder, 'key.pem'), 'KEY');
    writeFileSync(join(folder, 'cert.pem'), 'CERT');
    const file = write({ host: '0.0.0.0', port: 8460, tls: { key: 'key.pem', cert: 'cert.pem' }, people });
    expect(readPanelFile(file)).toEqual({
      host: '0.0.0.0',
      port: 8460,
      tls: { key: 'KEY', cert: 'CERT' },
      people,
      mayWriteStation: false,
    });
    expect(readPanelFile(write({}))).toEqual({ host: '127.0.0.1', mayWriteStation: false });
  });

  test.each<[unknown, RegExp]>([
    ['{', /panel\.json/u],
    [{ hots: '::' }, /panel\.json:1:\d+ \/hots: .*Did you mean "host"/u],
    [{ port: 70_000 }, /port/u],
    [{ people: [] }, /people: found a list of 0; accepted: .*at least 1/u],
    [{ people: [{ ...people[0], may: 'rule' }] }, /"look", "act"/u],
    [{ people: [{ name: 'Ada', may: 'act' }] }, /password/u],
    [{ tls: { key: 'nowhere.pem', cert: 'cert.pem' } }, /nowhere\.pem/u],
    [{ behindProxy: {} }, /origin/u],
  ])('a slip stops the start and names the place: %j', (value, place) => {
    expect(() => readPanelFile(write(value))).toThrow(Coded);
    expect(() => readPanelFile(write(value))).toThrow(place);
  });
});
