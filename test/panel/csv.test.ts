import { describe, expect, test } from 'vitest';
import { openDatabase } from '../../src/journal/driver.ts';
import { channelsOf } from '../../src/panel/channels.ts';
import { csvHead } from '../../src/panel/csv.ts';
import { panelStation } from '../tools/panel-station.ts';
import { pastOf } from '../tools/past.ts';

function textOf(station: ReturnType<typeof panelStation>, hours: number): Promise<string> {
  const { atMs } = station.source.now();
  const channels = channelsOf(station.source.plant());
  return pastOf(station.source).table({
    channels,
    fromMs: atMs - hours * 3_600_000,
    toMs: atMs,
    everyMs: 60_000,
  });
}

describe('the history as a table', () => {
  test('one row a minute, as many cells as the head has, gaps left out', async () => {
    const station = panelStation();
    station.run(2 * 3_600_000);
    const rows = (await textOf(station, 30)).trimEnd().split('\r\n');
    const cells = rows[0]?.match(/"[^"]*"|[^,]+/gu)?.length ?? 0;
    expect(cells).toBe(1 + 2 * channelsOf(station.source.plant()).length);
    expect(rows.length - 1).toBeGreaterThanOrEqual(119);
    expect(rows.length - 1).toBeLessThanOrEqual(121);
    for (const row of rows.slice(1)) {
      expect(row.split(',')).toHaveLength(cells);
      expect(row).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:00\.000Z,/u);
    }
  });

  test('a span that ends within a minute still has rows that begin with one', async () => {
    const station = panelStation();
    station.run(20 * 60_000 + 20_000);
    const rows = (await textOf(station, 1)).trimEnd().split('\r\n').slice(1);
    expect(rows.length).toBeGreaterThanOrEqual(20);
    for (const row of rows) expect(row).toMatch(/^\d{4}-\d\d-\d\dT\d\d:\d\d:00\.000Z,/u);
  });

  test('where minutes have gone there is one row an hour, and none twice', async () => {
    const station = panelStation();
    station.run(6 * 3_600_000);
    const db = openDatabase(station.journal.file);
    db.exec('DELETE FROM samples WHERE span < 3600000');
    db.close();
    const { atMs } = station.source.now();
    const channels = channelsOf(station.source.plant());
    const query = { channels, fromMs: atMs - 5.5 * 3_600_000, toMs: atMs, everyMs: 60_000 };
    const rows = (await pastOf(station.source).table(query)).trimEnd().split('\r\n').slice(1);
    const hours = rows.map((row) => row.slice(0, row.indexOf(',')));
    expect(hours.length).toBeGreaterThanOrEqual(5);
    expect(new Set(hours).size).toBe(hours.length);
    for (const hour of hours) expect(hour).toMatch(/T\d\d:00:00\.000Z$/u);
  });

  test('a name that begins like a formula is only a name in a spreadsheet', () => {
    const station = panelStation();
    const plant = station.source.plant();
    const vessel = plant.vessels.fresh;
    if (!vessel) throw new Error('no fresh vat');
    const sly = { ...plant, vessels: { ...plant.vessels, fresh: { ...vessel, name: '=1+1,"x"' } } };
    const channels = channelsOf(sly).filter(({ id }) => id === 'least:fresh');
    const head = csvHead(sly, { channels, fromMs: 0, toMs: 1, everyMs: 60_000 });
    expect(head).toContain(`"'=1+1,""x"": certain contents (L), least"`);
  });
});
