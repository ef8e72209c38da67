// A page whose journal could not be opened: it has no past, says so, and everything else goes on.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { memorySource } from '../../src/panel/memory-source.ts';
import { type Panel, startPanel } from '../../src/panel/server.ts';
import { cli } from '../tools/cli.ts';
import { couple, plantAt } from '../tools/coupled.ts';

const PLANT = plantAt('schemas/examples/marram-point.json');

describe('a page without a journal', () => {
  const coupled = couple(PLANT, { seed: 1, faults: [], stepMs: 1_000 });
  const source = memorySource({
    plant: PLANT,
    state: coupled.state(),
    startMs: Date.UTC(2026, 2, 30, 6),
    simulated: true,
    journal: null,
    send: () => {},
  });
  const logged: string[] = [];
  let panel: Panel;
  let cookie = '';
  beforeAll(async () => {
    const log = {
      error: (fields: object, event: string) => logged.push(`${event} ${JSON.stringify(fields)}`),
    };
    panel = await startPanel({ port: 0, source, log });
    const me = await fetch(`${panel.url}/api/me`);
    cookie = me.headers.get('set-cookie')?.split(';')[0] ?? '';
  });
  afterAll(async () => {
    await panel.close();
  });
  const get = (path: string) => fetch(`${panel.url}${path}`, { headers: { cookie } });

  test.each([
    '/api/history?from=0&to=3600000&points=100',
    '/api/events?from=0&to=3600000&limit=10',
    '/api/incidents',
    '/api/incidents/1-A-01',
  ])('says of %s that there is no journal, and where to look', async (path) => {
    const said = await get(path);
    expect(said.status).toBe(503);
    expect(await said.json()).toEqual({
      error: 'journal',
      words: "the journal can't be read at the moment: the log of the service says why",
    });
    expect(logged.join('\n')).toContain('there is no journal');
  });

  test('shows what is now, keeps its own books, and takes a count of salt', async () => {
    coupled.run(60_000);
    source.observe(coupled.state(), [], 60_000);
    expect((await get('/api/view')).status).toBe(200);
    expect(await source.countSalt?.(40)).toMatchObject({ accepted: true });
    expect(await (await get('/api/books')).json()).toMatchObject({ salt: { massKg: 40 } });
  });
});

describe('a day of which no journal can be made', () => {
  const folder = mkdtempSync(join(tmpdir(), 'vatwarden-test-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test('comes to its delivery all the same, and says first what it lacks', async () => {
    const nowhere = join(folder, 'nowhere');
    const day = cli(['demo', '--once', '--panel', '0'], { TMPDIR: nowhere });
    expect(await day.code).toBe(0);
    expect(day.err()).toMatch(
      /^journal: the journal .*nowhere.*\. The page has no past to show \[E-41\d\]\.$/mu,
    );
    expect(day.out()).toMatch(/^Good: nothing spilled, nothing ran dry, and a delivery was made\.$/mu);
  }, 300_000);
});
