// Readers of the past share their thread with the water: between two pieces of their work the loop goes round, whoever asks and
// however many they are. Counted in turns of the loop, so that a busy computer changes nothing.
import Fastify from 'fastify';
import { describe, expect, test } from 'vitest';
import { channelsOf } from '../../src/panel/channels.ts';
import type { HistoryQuery } from '../../src/panel/contract.ts';
import { csvOf } from '../../src/panel/csv.ts';
import { MOST_WAITING, paceOf } from '../../src/panel/pace.ts';
import { type Reading, reading } from '../../src/panel/reading.ts';
import { panelStation } from '../tools/panel-station.ts';

/** Counts how often the loop has gone round. */
function turns() {
  let count = 0;
  let next = setImmediate(function turn() {
    count += 1;
    next = setImmediate(turn);
  });
  return { now: () => count, end: () => clearImmediate(next) };
}

/** A station whose history notes in which turn of the loop it was asked. */
function watched() {
  const loop = turns();
  const askedIn: number[] = [];
  const { source } = panelStation();
  return {
    askedIn,
    loop,
    source: {
      ...source,
      history: async (query: HistoryQuery) => {
        askedIn.push(loop.now());
        return source.history(query);
      },
    },
  };
}

const apart = (askedIn: readonly number[]): boolean =>
  askedIn.every((turn, at) => at === 0 || turn > (askedIn[at - 1] as number));

describe('readers of the past', () => {
  test('the loop goes round between any two pieces of a table', async () => {
    const { source, askedIn, loop } = watched();
    const query = { channels: channelsOf(source.plant()), fromMs: 0, toMs: 20 * 86_400_000, everyMs: 60_000 };
    for await (const _ of csvOf(source, query, paceOf()));
    loop.end();
    expect(askedIn.length).toBe(120);
    expect(apart(askedIn)).toBe(true);
  });

  test('forty readers at once: some wait their turn, the others are told when to come again', async () => {
    const { source, askedIn, loop } = watched();
    const app = Fastify();
    reading(app, {
      source,
      keys: { mayLook: () => {} },
      live: {},
      canWriteFile: false,
    } as unknown as Reading);
    const url = '/api/history?from=0&to=86400000&points=100';
    const answers = await Promise.all(Array.from({ length: 40 }, () => app.inject(url)));
    loop.end();
    const well = answers.filter(({ statusCode }) => statusCode === 200);
    const away = answers.filter(({ statusCode }) => statusCode === 503);
    expect(well.length).toBeGreaterThanOrEqual(MOST_WAITING);
    expect(well.length + away.length).toBe(40);
    expect(away.length).toBeGreaterThan(0);
    for (const { headers, body } of away) {
      expect(headers['retry-after']).toBe('30');
      expect(body).toMatch(/try again/);
    }
    for (const { headers } of well) expect(headers['retry-after']).toBeUndefined();
    expect(apart(askedIn)).toBe(true);
    await app.close();
  });

  test('one table at a time: the next is told to come again, and one that is done makes room', async () => {
    const { source, loop } = watched();
    loop.end();
    const app = Fastify();
    reading(app, {
      source,
      keys: { mayLook: () => {} },
      live: {},
      canWriteFile: false,
    } as unknown as Reading);
    const url = `/api/history.csv?from=0&to=${86_400_000}&every=60000`;
    const [first, second] = await Promise.all([app.inject(url), app.inject(url)]);
    expect([first.statusCode, second.statusCode].sort()).toEqual([200, 503]);
    expect([first, second].find(({ statusCode }) => statusCode === 503)?.headers['retry-after']).toBe('30');
    // The stream of the first is closed in a turn of its own.
    await new Promise(setImmediate);
    expect((await app.inject(url)).statusCode).toBe(200);
    await app.close();
  });

  test('after a piece the loop is left alone for three times as long as it took', async () => {
    const rests: number[] = [];
    const pace = paceOf(async (ms) => void rests.push(ms));
    const beganMs = performance.now();
    await pace.run(() => {
      while (performance.now() < beganMs + 2);
    });
    await pace.run(() => 1);
    expect(rests[0]).toBeGreaterThanOrEqual(5.5);
  });
});
