import '../seed.ts';
import fc from 'fast-check';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { Event } from '../../src/control/guard/types.ts';
import { initial } from '../../src/control/process/initial.ts';
import type { State } from '../../src/control/process/state.ts';
import { step } from '../../src/control/step.ts';
import { permeateTemperatureDivisor } from '../../src/engineering/purification.ts';
import { channelsOf } from '../../src/journal/channels.ts';
import { type Database, openDatabase } from '../../src/journal/driver.ts';
import { historyOf } from '../../src/journal/history.ts';
import { openJournal } from '../../src/journal/journal.ts';
import { SPANS } from '../../src/journal/limits.ts';
import { merged, type SampleRow, Sampler, SampleTable } from '../../src/journal/samples.ts';
import { upgrade } from '../../src/journal/schema.ts';
import { type LedgerQuery, ledgerIn } from '../../src/journal/tables.ts';
import type { Plant } from '../../src/station/plant.ts';
import {
  BENCH_RIG,
  type Driven,
  drive,
  handClock,
  MARRAM_POINT,
  newFolder,
  removeFolders,
  START_MS,
} from './driven.ts';

const MOMENT = SPANS.moment;
const MINUTE = SPANS.minute;
const HOUR = SPANS.hour;

/** Contents of the fresh vat and nothing else, to be steered by hand. */
function stateWith(leastL: number, mostL: number): State {
  const state = initial(BENCH_RIG);
  Object.assign(state.vessels.fresh ?? {}, { leastL, mostL });
  return state;
}

describe('a moment', () => {
  afterEach(removeFolders);

  it('has the least, the mean over time and the most of an interval', () => {
    const sampler = new Sampler(BENCH_RIG);
    const place = sampler.channels.findIndex(({ name }) => name === 'contents/fresh');
    sampler.begin(stateWith(2, 4));
    // 3 L for 2 s, then 7 L for 1 s, then 5 L until the moment is over, 2 s later.
    expect(sampler.take(stateWith(6, 8), 2_000, START_MS + 2_000)).toBeNull();
    expect(sampler.take(stateWith(5, 5), 1_000, START_MS + 3_000)).toBeNull();
    expect(sampler.take(stateWith(5, 5), 1_999, START_MS + 4_999)).toBeNull();
    const row = sampler.take(stateWith(1, 9), 2, START_MS + 5_001);
    expect(row).toMatchObject({ atMs: START_MS, lastedMs: 4_999 });
    const [least, mean, most] = row?.samples[place] ?? [];
    expect([least, most]).toEqual([2, 8]);
    expect(mean).toBeCloseTo((3 * 2_000 + 7 * 1_000 + 5 * 1_999) / 4_999, 3);
  });

  it('has nothing of contents that may be anything from empty to full, and is no wider for them', () => {
    const sampler = new Sampler(BENCH_RIG);
    const place = sampler.channels.findIndex(({ name }) => name === 'contents/fresh');
    const { capacityL } = BENCH_RIG.vessels.fresh ?? { capacityL: Number.NaN };
    sampler.begin(initial(BENCH_RIG));
    sampler.take(stateWith(0, capacityL), 1_000, START_MS + 1_000);
    expect(sampler.end()?.samples[place]).toBeNull();
    sampler.take(stateWith(0, capacityL), 1_000, START_MS + 2_000);
    sampler.take(stateWith(3, 4), 1_000, START_MS + 3_000);
    expect(sampler.end()?.samples[place]).toEqual([3, 3.5, 4]);
  });

  it('weighs what it saw before and after a restart', () => {
    const clock = handClock();
    const directory = newFolder();
    const run = (leastL: number, forMs: number) => {
      const journal = openJournal(directory, BENCH_RIG, { stamp: clock.stamp });
      const state = stateWith(leastL, leastL);
      journal.begin(state);
      clock.nowMs += forMs;
      journal.append({ event: { elapsedMs: forMs, inputs: [], tick: true }, effects: [], state });
      journal.close();
    };
    run(1, 1_000);
    run(4, 2_000);
    const journal = openJournal(directory, BENCH_RIG, { stamp: clock.stamp });
    const { lines } = journal.history({
      channels: ['contents/fresh'],
      fromMs: START_MS,
      toMs: START_MS + HOUR,
    });
    expect(lines[0]?.points).toEqual([{ atMs: START_MS, least: 1, mean: 3, most: 4 }]);
    journal.close();
  });

  it('lies between its least and its most, whatever was seen', () => {
    const seen = fc.tuple(
      fc.integer({ min: 0, max: 30_000 }),
      fc.double({ min: 0, max: 6, noNaN: true }),
      fc.double({ min: 0, max: 6, noNaN: true }),
    );
    fc.assert(
      fc.property(fc.array(seen, { minLength: 1, maxLength: 30 }), (steps) => {
        const sampler = new Sampler(BENCH_RIG);
        const place = sampler.channels.findIndex(({ name }) => name === 'contents/fresh');
        sampler.begin(stateWith(0, 12));
        const rows: SampleRow[] = [];
        let wallMs = START_MS;
        for (const [elapsedMs, leastL, widthL] of steps) {
          wallMs += elapsedMs;
          const row = sampler.take(stateWith(leastL, leastL + widthL), elapsedMs, wallMs);
          if (row) rows.push(row);
        }
        const last = sampler.end();
        if (last) rows.push(last);
        expect(rows.reduce((sum, row) => sum + row.lastedMs, 0)).toBe(wallMs - START_MS);
        const whole = merged(START_MS, rows);
        for (const { samples } of [...rows, whole]) {
          const [least = 0, mean = 0, most = 0] = samples[place] ?? [];
          expect(least).toBeLessThanOrEqual(mean);
          expect(mean).toBeLessThanOrEqual(most);
        }
      }),
    );
  });
});

describe('minutes and hours', () => {
  const tables: Database[] = [];
  afterEach(() => {
    for (const db of tables.splice(0)) db.close();
  });
  const table = () => {
    const db = openDatabase(':memory:');
    tables.push(db);
    upgrade(db);
    const samples = new SampleTable(db, [{ name: 'contents/fresh', unit: 'L', now: () => null }]);
    const rowsOf = (span: number) =>
      db
        .prepare<[number], { at: number; lasted: number; body: string }>(
          'SELECT at, lasted, body FROM samples WHERE span = ?',
        )
        .all(span);
    const lines = (fromMs: number, toMs: number, points?: number) => {
      const { spanMs, lines: all } = historyOf(db, {
        channels: ['contents/fresh'],
        fromMs,
        toMs,
        ...(points === undefined ? {} : { points }),
      });
      return { spanMs, points: all[0]?.points ?? [] };
    };
    return { db, samples, minutes: () => rowsOf(MINUTE), hours: () => rowsOf(HOUR), lines };
  };
  const moment = (atMs: number, value: number): SampleRow => ({
    atMs,
    lastedMs: MOMENT,
    samples: [[value, value, value]],
  });

  it('are made of their moments when the next minute begins', () => {
    const { samples, minutes } = table();
    for (const at of [0, 1, 11]) samples.add(moment(START_MS + at * MOMENT, at));
    expect(minutes()).toEqual([]);
    samples.add(moment(START_MS + MINUTE, 7));
    expect(minutes()).toEqual([{ at: START_MS, lasted: 3 * MOMENT, body: '[[0,4,11]]' }]);
  });

  it('show what runs: the last point is the moment that is over, in moments, minutes and hours', () => {
    const { samples, lines } = table();
    const atMs = START_MS + HOUR + MINUTE + 6 * MOMENT;
    for (let at = START_MS; at <= atMs; at += MOMENT) samples.add(moment(at, 3));
    samples.add(moment(atMs + MOMENT, 8));
    const toMs = START_MS + 2 * HOUR;
    expect(lines(START_MS, toMs, 2_000)).toMatchObject({ spanMs: MOMENT });
    expect(lines(START_MS, toMs, 2_000).points.at(-1)).toMatchObject({ atMs: atMs + MOMENT, most: 8 });
    expect(lines(START_MS, toMs, 120).points.at(-1)).toMatchObject({
      atMs: START_MS + HOUR + MINUTE,
      most: 8,
    });
    expect(lines(START_MS, toMs, 120).points).toHaveLength(62);
    expect(lines(START_MS, toMs, 2).points.map(({ atMs: at, most }) => [at, most])).toEqual([
      [START_MS, 3],
      [START_MS + HOUR, 8],
    ]);
  });

  it('are shown where finer ones have gone, and no part of the time is left out', () => {
    const { db, samples, lines } = table();
    for (let at = 0; at < 2 * HOUR; at += MOMENT) samples.add(moment(START_MS + at, 1));
    const both = () => lines(START_MS, START_MS + 2 * HOUR, 20_000);
    expect(both()).toMatchObject({ spanMs: MOMENT });
    db.exec(`DELETE FROM samples WHERE span = ${MOMENT} AND at < ${START_MS + HOUR}`);
    expect(both()).toMatchObject({ spanMs: MINUTE });
    expect(both().points).toHaveLength(120);
    db.exec(`DELETE FROM samples WHERE span = ${MINUTE} AND at < ${START_MS + HOUR}`);
    expect(both()).toMatchObject({ spanMs: HOUR });
    expect(both().points).toHaveLength(2);
    expect(lines(START_MS + HOUR, START_MS + 2 * HOUR, 20_000)).toMatchObject({ spanMs: MOMENT });
  });

  it('of minutes are made when the first minute of the next hour is over, also after a day away', () => {
    const { samples, hours } = table();
    for (const at of [0, 1, 59]) samples.add(moment(START_MS + at * MINUTE, at));
    samples.add(moment(START_MS + 24 * HOUR, 7));
    expect(hours()).toEqual([]);
    samples.add(moment(START_MS + 24 * HOUR + MINUTE, 7));
    expect(hours()).toEqual([{ at: START_MS, lasted: 3 * MOMENT, body: '[[0,20,59]]' }]);
  });

  it('take in a moment and a minute that came late, because the clock was set back', () => {
    const { samples, minutes, hours } = table();
    samples.add(moment(START_MS, 1));
    for (const late of [0, MINUTE]) samples.add(moment(START_MS + HOUR + late, 5));
    samples.add(moment(START_MS + 3 * MOMENT, 3));
    expect(minutes()[0]).toEqual({ at: START_MS, lasted: 2 * MOMENT, body: '[[1,2,3]]' });
    expect(hours()).toEqual([{ at: START_MS, lasted: 2 * MOMENT, body: '[[1,2,3]]' }]);
    for (const late of [1, 2]) samples.add(moment(START_MS + late * MINUTE, 8));
    expect(hours()).toEqual([{ at: START_MS, lasted: 3 * MOMENT, body: '[[1,4,8]]' }]);
  });
});

describe('the ledger', () => {
  it('sums hours up to days, for each system', () => {
    const db = openDatabase(':memory:');
    upgrade(db);
    const add = db.prepare('INSERT INTO ledger VALUES (?, ?, ?, ?, ?, ?)');
    add.run('reef', 20_000, 23, 2, 1, 0.1);
    add.run('reef', 20_001, 0, 3, 4, 0.1);
    add.run('reef', 20_001, 7, 5, 5, 0.2);
    add.run('holding', 20_001, 7, 1, 1, 0);
    const by = (query: LedgerQuery) =>
      ledgerIn(db, query).map((e) => [e.system, e.day, e.hour, e.drainedL, e.deliveredL]);
    expect(by({ by: 'day' })).toEqual([
      ['reef', 20_000, null, 2, 1],
      ['holding', 20_001, null, 1, 1],
      ['reef', 20_001, null, 8, 9],
    ]);
    expect(by({ by: 'hour', system: 'reef', fromDay: 20_001, toDay: 20_001 })).toEqual([
      ['reef', 20_001, 0, 3, 4],
      ['reef', 20_001, 7, 5, 5],
    ]);
    db.close();
  });
});

describe('the purifier', () => {
  it('is shown as at 25 degC where the inlet has a thermometer, and not at all where it has none', () => {
    expect(channelsOf(BENCH_RIG).some(({ name }) => name.startsWith('output-at-25'))).toBe(false);
    const thermometer = {
      ...BENCH_RIG.sensors['mixing-temperature'],
      id: 'inlet-temperature',
      vessel: 'inlet',
    };
    const inlet = { ...BENCH_RIG.vessels.inlet, temperature: 'inlet-temperature' };
    const plant = {
      ...BENCH_RIG,
      vessels: { ...BENCH_RIG.vessels, inlet },
      sensors: { ...BENCH_RIG.sensors, 'inlet-temperature': thermometer },
    } as Plant;
    const channel = channelsOf(plant).find(({ name }) => name === 'output-at-25/refill');
    const event: Event = {
      elapsedMs: 100,
      tick: true,
      inputs: [
        { type: 'link', up: true },
        { type: 'reading', sensor: 'inlet-temperature', value: 12, live: true },
        { type: 'reading', sensor: 'inlet-flow', value: 10, live: true },
      ],
    };
    const { state } = step(plant, initial(plant), event);
    expect(channel?.now(state)).toBeNull();
    Object.assign(state.routes.refill ?? {}, { running: 'yes', runMs: 60_000 });
    expect(channel?.now(state)).toBeCloseTo(10 * permeateTemperatureDivisor(12), 9);
    // A thermometer that says something impossible for water in a pipe.
    Object.assign(state.sensors['inlet-temperature'] ?? {}, { value: -5 });
    expect(channel?.now(state)).toBeNull();
  });
});

describe('half a day at Marram Point, with a person who brings the salt', () => {
  let driven: Driven;
  let asked = 0;
  let added = 0;
  let delivered = 0;
  const seen: { wallMs: number; elapsedMs: number; state: State }[] = [];

  beforeAll(() => {
    driven = drive(MARRAM_POINT, { seed: 11 });
    let todayL = 0;
    for (let count = 0; count < (12 * HOUR) / 10_000; count++) {
      const before = driven.state;
      driven.step(10_000);
      const { event, effects } = driven.taken.at(-1) ?? { event: null, effects: [] };
      seen.push({ wallMs: START_MS + driven.clock.nowMs, elapsedMs: 10_000, state: driven.state });
      for (const effect of effects) {
        if (effect.do !== 'ask' || effect.task?.task !== 'add-salt') continue;
        const wasAsked = before.tasks.mixing?.task === 'add-salt';
        if (!wasAsked) asked += effect.task.massKg ?? 0;
      }
      for (const input of event?.inputs ?? [])
        if (input.type === 'request' && input.request.ask === 'salt-added')
          added += input.request.massKg ?? 0;
      const now = driven.state.exchange.system;
      if (now === undefined) continue;
      if (now.day !== before.exchange.system?.day) todayL = 0;
      delivered += now.todayL - todayL;
      todayL = now.todayL;
    }
    driven.journal.flush();
  });
  afterAll(() => {
    driven.journal.close();
    removeFolders();
  });

  it('has a record of the batch: the salt asked for and added, when accepted, and as what', () => {
    const [batch] = driven.journal.batches().toReversed();
    expect(batch?.number).toBe(1);
    expect(added).toBeGreaterThan(1);
    expect(batch?.askedKg).toBeCloseTo(asked, 6);
    expect(batch?.addedKg).toBeCloseTo(added, 6);
    const first = seen.filter(({ state }) => state.batch.number === 1);
    expect(batch?.trims).toBe(Math.max(...first.map(({ state }) => state.batch.trims)));
    const accepted = seen.find(({ state }) => state.batch.accepted);
    expect(batch?.acceptedMs).toBe(accepted?.wallMs);
    expect(batch?.salinity).toBe(accepted?.state.batch.acceptedSalinity);
    expect(Math.abs((batch?.salinity ?? 0) - 35)).toBeLessThanOrEqual(
      MARRAM_POINT.process.salinity.tolerance,
    );
    expect(batch?.volumeL).toBeGreaterThan(200);
    expect(batch?.yieldKgPerKg).toBe(driven.state.batch.yields[0] ?? null);
    expect(batch?.readyMs ?? 0).toBeGreaterThanOrEqual(batch?.acceptedMs ?? 1);
  });

  it('has a ledger whose hours and days sum up to what the exchange delivered', () => {
    const hours = driven.journal.ledger({ by: 'hour' });
    const days = driven.journal.ledger({ by: 'day', system: 'system' });
    const sum = (entries: readonly { deliveredL: number }[]) =>
      entries.reduce((all, e) => all + e.deliveredL, 0);
    expect(delivered).toBeGreaterThan(1);
    expect(sum(hours)).toBeCloseTo(delivered, 6);
    expect(sum(days)).toBeCloseTo(delivered, 6);
    expect(days.map(({ day, hour }) => [day, hour])).toEqual([[0, null]]);
    expect(driven.journal.ledger({ by: 'day', system: 'nowhere' })).toEqual([]);
  });

  it('draws the contents of a vat minute by minute as they were, by another computation', () => {
    const fromMs = START_MS + 6 * HOUR;
    const toMs = fromMs + HOUR;
    const { spanMs, lines } = driven.journal.history({
      channels: ['contents/mixing', 'no/such'],
      fromMs,
      toMs,
      points: 60,
    });
    expect(spanMs).toBe(MINUTE);
    expect(lines.map(({ channel, unit }) => [channel, unit])).toEqual([['contents/mixing', 'L']]);
    expect(lines[0]?.points.length).toBe(60);
    for (const point of lines[0]?.points ?? []) {
      const inside = seen.filter(({ wallMs }) => wallMs >= point.atMs && wallMs < point.atMs + MINUTE);
      const before = seen.findLast(({ wallMs }) => wallMs < point.atMs);
      const lasted = [before, ...inside.slice(0, -1)];
      const middles = lasted.map((one) => {
        const held = one?.state.vessels.mixing;
        return ((held?.leastL ?? 0) + (held?.mostL ?? 0)) / 2;
      });
      expect(point.mean).toBeCloseTo(middles.reduce((a, b) => a + b) / middles.length, 1);
    }
  });

  it('draws the whole of it in hours, and in no more points than were asked for', () => {
    const all = { channels: ['temperature/mixing'], fromMs: START_MS, toMs: START_MS + 96 * HOUR };
    const { spanMs, lines } = driven.journal.history(all);
    expect(spanMs).toBe(HOUR);
    expect(lines[0]?.points.length).toBe(12);
    expect(driven.journal.history({ ...all, points: 5 }).lines[0]?.points.length).toBeLessThanOrEqual(5);
  });

  it('lists alarms and records newest first, and those of a time', () => {
    const records = driven.journal.records({ most: 10_000 });
    const said = driven.taken.flatMap(({ effects }) => effects.filter((effect) => effect.do === 'record'));
    expect(records.filter(({ about }) => about !== 'task').length).toBe(said.length);
    expect(records.map(({ step: number }) => number)).toEqual(
      records.map(({ step: number }) => number).toSorted((a, b) => b - a),
    );
    const toMs = START_MS + HOUR;
    expect(driven.journal.records({ toMs }).every(({ wallMs }) => wallMs < toMs)).toBe(true);
    expect(driven.journal.records({ most: 3 })).toEqual(records.slice(0, 3));
    const alarms = driven.taken.flatMap(({ effects }) => effects.filter((effect) => effect.do === 'alarm'));
    expect(driven.journal.alarms({ most: 10_000 }).length).toBe(alarms.length);
  });
});
