import { describe, expect, test } from 'vitest';
import { memorySource } from '../../src/panel/memory-source.ts';
import { panelStation, untilReady } from '../tools/panel-station.ts';
import { pastOf } from '../tools/past.ts';

const HOUR_MS = 3_600_000;

/** Runs until salt is asked for, adds it, and on until the batch stands ready. */
function readyBatch(station: ReturnType<typeof panelStation>): number {
  const asks = () => station.coupled.state().tasks.mixing?.task === 'add-salt';
  expect(station.run(8 * HOUR_MS, asks)).toBe(true);
  const kg = station.coupled.state().batch.askedKg;
  void station.source.request({ ask: 'salt-added', massKg: kg });
  expect(untilReady(station, 12 * HOUR_MS)).toBe(true);
  return kg;
}

describe('the books of a station', () => {
  test('a batch is recorded with its stages in order, its salt, what it was accepted at and its yield', async () => {
    const station = panelStation();
    const kg = readyBatch(station);
    const [batch] = await pastOf(station.source).batches();
    expect(batch?.number).toBe(1);
    expect(batch?.stages.map(({ stage }) => stage)).toEqual([
      'transfer',
      'mix/assess',
      'mix/salt',
      'mix/dissolve',
      'mix/measure',
      'heat',
      'ready',
    ]);
    for (const [i, stage] of (batch?.stages ?? []).entries())
      expect(stage.toMs).toBe(batch?.stages[i + 1]?.fromMs ?? null);
    expect(batch?.saltAddedKg).toBeCloseTo(kg, 9);
    expect(batch?.acceptedSalinity).toBeGreaterThan(34.5);
    expect(batch?.yieldKgPerKg).toBeCloseTo(0.85, 1);
    expect(batch?.endedMs).toBeNull();
  });

  test('what was delivered stands in the batch, the day and the ledger alike', async () => {
    const station = panelStation();
    readyBatch(station);
    const sum = async () =>
      (await pastOf(station.source).ledger()).reduce(
        (all, day) => all + (day.exchange.system?.deliveredL ?? 0),
        0,
      );
    // Until the pumps were proven off something may have passed: the core's ledger counts the middle of that, and so do we.
    const before = await sum();
    expect(before).toBeLessThan(0.5);
    station.run(6 * HOUR_MS);
    const [batch] = await pastOf(station.source).batches();
    const delivered = (await sum()) - before;
    expect(delivered).toBeGreaterThan(3);
    expect(batch?.deliveredL).toBeCloseTo(delivered, 6);
    // The water itself agrees with the meters within their error.
    const truly = station.coupled.twin.world.ledger.deliveredL;
    expect(Math.abs(truly - delivered)).toBeLessThan(0.05 * delivered + 0.5);
  });

  test('a day has its plan, its salt and what the purifier gave for how long', async () => {
    const station = panelStation();
    const kg = readyBatch(station);
    const days = await pastOf(station.source).ledger();
    const sum = (of: (day: (typeof days)[number]) => number) => days.reduce((all, day) => all + of(day), 0);
    expect(sum(({ saltKg }) => saltKg)).toBeCloseTo(kg, 9);
    expect(sum(({ refillL }) => refillL)).toBeGreaterThan(5);
    const lpm = sum(({ refillL }) => refillL) / (sum(({ refillMs }) => refillMs) / 60_000);
    expect(lpm).toBeGreaterThan(0.13);
    expect(lpm).toBeLessThan(0.3);
    const planned = sum((day) => day.exchange.system?.plannedL ?? 0);
    const hours = station.coupled.nowMs() / HOUR_MS;
    expect(planned).toBeCloseTo((0.02 * 2400 * hours) / 24, 3);
  });

  test('salt that goes in is taken from what was counted', async () => {
    const station = panelStation();
    await station.source.countSalt?.(50);
    const kg = readyBatch(station);
    const salt = await station.source.saltStock?.();
    expect(salt?.massKg).toBe(50);
    expect(salt?.usedKg).toBeCloseTo(kg, 9);
  });

  test('an incident is an alarm from its first word to its last, and its story holds what happened round it', async () => {
    const station = panelStation({ faults: ['nobody-there:all@0', 'says:tray-leak=wet@1h-2h'] });
    station.run(HOUR_MS + 60_000);
    const [open] = await pastOf(station.source).incidents();
    expect(open?.alarm).toBe('I-11/tray-leak');
    expect(open?.toMs).toBeNull();
    station.run(HOUR_MS);
    void station.source.request({ ask: 'acknowledge', alarm: 'I-11/tray-leak' });
    station.run(10_000);
    void station.source.request({ ask: 'reset-trip', trip: 'I-11/tray-leak' });
    station.run(30 * 60_000);
    const closed = (await pastOf(station.source).incidents()).find(({ id }) => id === open?.id);
    expect(closed?.acknowledgedMs).toBeGreaterThan(closed?.fromMs ?? 0);
    expect(closed?.toMs).toBeGreaterThan(closed?.acknowledgedMs ?? 0);
    const story = await pastOf(station.source).story(open?.id ?? '');
    expect(story?.events.map(({ about }) => about)).toEqual(
      expect.arrayContaining(['alarm', 'trip', 'phase', 'request']),
    );
    expect(story?.channels.length).toBeGreaterThan(0);
    expect(await pastOf(station.source).story('nothing')).toBeNull();
  });

  test('a request that nobody answers is not said to be done', async () => {
    const station = panelStation();
    const silent = memorySource({
      plant: station.coupled.plant,
      state: station.coupled.state(),
      journal: null,
      startMs: 0,
      simulated: true,
      send: () => {},
      answerWithinMs: 30,
    });
    const answer = await silent.request({ ask: 'hold', unit: 'all' });
    expect(answer.accepted).toBe(false);
    expect(answer.words).toEqual({ id: 'no-answer-came', values: {} });
  });

  test('books that were kept are found again, and new days go on after them', async () => {
    const station = panelStation();
    await station.source.countSalt?.(20);
    const kg = readyBatch(station);
    const kept = JSON.parse(JSON.stringify(station.source.kept()));
    const again = memorySource({
      plant: station.coupled.plant,
      state: station.coupled.state(),
      journal: station.journal,
      startMs: station.source.now().atMs,
      simulated: true,
      send: () => {},
      kept,
    });
    expect(await pastOf(again).batches()).toEqual(await pastOf(station.source).batches());
    expect(await pastOf(again).ledger()).toEqual(await pastOf(station.source).ledger());
    again.observe(station.coupled.state(), [], 5_000);
    const salt = await again.saltStock?.();
    expect(salt?.usedKg).toBeCloseTo(kg, 9);
    const days = await pastOf(again).ledger();
    expect(days.reduce((sum, day) => sum + day.saltKg, 0)).toBeCloseTo(kg, 9);
  });
});
