import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { memorySource } from '../../src/panel/memory-source.ts';
import { startPanel } from '../../src/panel/server.ts';
import { sevenDays } from '../../src/panel/seven-days.ts';
import type { Plant } from '../../src/station/plant.ts';
import { panelStation, servedStation, textOfStation } from '../tools/panel-station.ts';

const HOUR_MS = 3_600_000;
const LONG = 300_000;

function ready(): ReturnType<typeof panelStation> {
  const station = panelStation({ faults: [] });
  station.run(20 * HOUR_MS, () => station.coupled.state().batch.stage === 'ready');
  return station;
}

describe('the days to come', () => {
  const station = ready();
  const { plant } = station.coupled;
  const now = () => station.coupled.state();
  const run = (changed: Plant = plant) => sevenDays(changed, now(), now().clock.minuteOfDay, () => {}, 1);

  test('the same question has the same answer, and leaves the station as it was', () => {
    const before = JSON.stringify(now());
    expect(run()).toEqual(run());
    expect(JSON.stringify(now())).toBe(before);
  });

  test('begins with the water that is there, and delivers about what is planned', () => {
    const { lines, sums } = run();
    const held = now().vessels.mixing;
    expect(lines['contents:mixing']?.[1]).toBeGreaterThan((held?.leastL ?? 0) - 12);
    expect(lines['contents:mixing']?.[1]).toBeLessThan((held?.mostL ?? 0) + 5);
    const plannedL = 0.02 * 2400;
    expect(sums.deliveredL).toBeGreaterThan(0.5 * plannedL);
    expect(sums.deliveredL).toBeLessThan(1.6 * plannedL);
    expect(sums.trips).toBe(0);
  });

  test('twice the exchange delivers more, and leaves less in reserve', () => {
    const aims = plant.process.exchange.system;
    if (!aims) throw new Error('no exchange');
    const exchange = { system: { ...aims, perDayShare: 2 * aims.perDayShare } };
    const [as, more] = [run(), run({ ...plant, process: { ...plant.process, exchange } })];
    expect(more.sums.deliveredL).toBeGreaterThan(1.3 * as.sums.deliveredL);
    expect(more.lines.reserve?.at(-1) ?? 1).toBeLessThan(as.lines.reserve?.at(-1) ?? 0);
  });

  test('a trip that stands now is taken for mended: the days are about targets, not about a leak', () => {
    const leaking = structuredClone(now());
    leaking.trips['I-11/tray-leak'] = 5_000;
    leaking.batch = { ...leaking.batch, procedure: 'held', cause: 'trip' };
    const { sums } = sevenDays(plant, leaking, 600, () => {}, 0.5);
    expect(sums.deliveredL).toBeGreaterThan(0);
  });
});

describe('over the page', () => {
  type Served = Awaited<ReturnType<typeof servedStation>>;
  let served: Served;
  const saved: string[] = [];
  let ask: (path: string, body?: unknown) => Promise<Response>;

  beforeAll(async () => {
    const file = 'schemas/examples/one-vat.json';
    served = await servedStation({
      file,
      faults: [],
      station: {
        file: 'one-vat.json',
        text: textOfStation(file),
        save: async (text) => {
          saved.push(text);
        },
      },
    });
    served.run(HOUR_MS);
    const { url } = served.panel;
    const me = await fetch(`${url}/api/me`);
    const cookie = me.headers.get('set-cookie')?.split(';')[0] ?? '';
    const { token } = (await me.json()) as { token: string };
    const headers = { cookie, origin: url, 'x-panel-token': token, 'content-type': 'application/json' };
    ask = (path, body) =>
      fetch(
        `${url}${path}`,
        body === undefined ? { headers } : { method: 'POST', headers, body: JSON.stringify(body) },
      );
  });
  afterAll(() => served.close());

  test(
    'both runs go on threads of their own, tell how far they are, and a second question ends the first',
    async () => {
      const change = { exchange: { system: { perDayShare: 0.1 } } };
      const first = (await (await ask('/api/what-if', { salinity: 33 })).json()) as { id: number };
      const second = (await (await ask('/api/what-if', change)).json()) as { id: number };
      expect((await ask(`/api/what-if/${first.id}`)).status).toBe(404);
      const shares: number[] = [];
      let outcome: { stage: string; share?: number; now?: { sums: { deliveredL: number } } } = {
        stage: 'running',
      };
      while (outcome.stage === 'running') {
        outcome = (await (await ask(`/api/what-if/${second.id}`)).json()) as typeof outcome;
        if (outcome.share !== undefined) shares.push(outcome.share);
        await new Promise((done) => setTimeout(done, 300));
      }
      expect(outcome.stage).toBe('done');
      expect(shares).toEqual(shares.toSorted((a, b) => a - b));
    },
    LONG,
  );

  test('what the rules forbid is refused in words, and no run is begun', async () => {
    const answer = (await (await ask('/api/what-if', { batchL: 5_000 })).json()) as {
      accepted: boolean;
      id: null;
    };
    expect(answer).toMatchObject({ accepted: false, id: null });
  });

  test('saving writes the changed file, one change upon the other, and says when it counts', async () => {
    const one = (await (await ask('/api/change', { salinity: 33.5 })).json()) as { words: { id: string } };
    expect(one.words.id).toBe('written-into-file');
    await ask('/api/change', { reserveShare: 0.3 });
    expect(saved).toHaveLength(2);
    expect(JSON.parse(saved[1] ?? '')).toMatchObject({
      process: { salinity: { target: '33.5 PSU' }, reserve: '30 %' },
    });
    expect(served.coupled.plant.process.salinity.target).toBe(34);
  });

  test('the changed file can be taken away', async () => {
    const response = await ask('/api/change/file', { salinity: 33 });
    expect(await response.json()).toMatchObject({ process: { salinity: { target: '33 PSU' } } });
  });
});

describe('a service that takes targets over', () => {
  test('goes on with them at once, and every page learns of it', async () => {
    const station = panelStation();
    station.run(60_000);
    const adopted: Plant[] = [];
    const source = memorySource({
      plant: station.coupled.plant,
      state: station.coupled.state(),
      journal: null,
      startMs: 0,
      simulated: true,
      send: () => {},
      adopt: (plant) => adopted.push(plant),
    });
    const text = textOfStation();
    const panel = await startPanel({ source, port: 0, station: { file: 'x.json', text } });
    const me = await fetch(`${panel.url}/api/me`);
    const cookie = me.headers.get('set-cookie')?.split(';')[0] ?? '';
    const { token } = (await me.json()) as { token: string };
    const stop = new AbortController();
    const live = await fetch(`${panel.url}/api/live`, { headers: { cookie }, signal: stop.signal });
    const reader = live.body?.getReader();
    const answer = await fetch(`${panel.url}/api/change`, {
      method: 'POST',
      headers: { cookie, origin: panel.url, 'x-panel-token': token, 'content-type': 'application/json' },
      body: JSON.stringify({ salinity: 34.2 }),
    });
    expect(await answer.json()).toMatchObject({ accepted: true });
    expect(adopted[0]?.process.salinity.target).toBe(34.2);
    expect(source.plant().process.salinity.target).toBe(34.2);
    source.observe(station.coupled.state(), [], 5_000);
    let heard = '';
    while (!heard.includes('event: standing'))
      heard += new TextDecoder().decode((await reader?.read())?.value);
    stop.abort();
    await panel.close();
  });
});
