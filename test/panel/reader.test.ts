// Who reads the past, how much of it at once, and what becomes of a thread that breaks off or does not come to an end.
import { Worker } from 'node:worker_threads';
import { afterEach, describe, expect, test } from 'vitest';
import { channelsOf } from '../../src/panel/channels.ts';
import type { CsvQuery } from '../../src/panel/csv.ts';
import { READER_LIMITS, type Reader, type ReaderLimits, readerOf } from '../../src/panel/reader.ts';
import { beginWorker, type Thread } from '../../src/panel/reader-thread.ts';
import type { Source } from '../../src/panel/source.ts';
import { panelStation, servedStation } from '../tools/panel-station.ts';
import { pastOf } from '../tools/past.ts';

const HOUR_MS = 3_600_000;
const INCIDENTS = { about: 'incidents' } as const;
const EVENTS = {
  about: 'events',
  query: { fromMs: 0, toMs: Number.MAX_SAFE_INTEGER, limit: 2_000 },
} as const;

const readers: Reader[] = [];
afterEach(async () => {
  for (const reader of readers.splice(0)) await reader.close();
});

/** A reader of a source, and what its log was told. */
function reading(source: Source, limits: Partial<ReaderLimits> = {}, begin: () => Thread = beginWorker) {
  const heard: string[] = [];
  const failed = (error: unknown) => heard.push(String(error));
  const reader = readerOf(source, { ...READER_LIMITS, ...limits }, failed, begin);
  readers.push(reader);
  return { reader, heard };
}

const doing = (script: string) => (): Thread =>
  new Worker(`require('node:worker_threads').parentPort.on('message', () => { ${script} })`, { eval: true });

/** One after the other, the last for good. */
const oneAfterTheOther = (...begins: (() => Thread)[]) => {
  const left = [...begins];
  return (): Thread => ((left.length > 1 ? left.shift() : left[0]) as () => Thread)();
};

/** Hears everything and says nothing. */
const silent = (): Thread =>
  ({ on: () => {}, postMessage: () => {}, terminate: async () => 0 }) as unknown as Thread;

function eventful() {
  const station = panelStation({ faults: ['nobody-there:all@0', 'says:tray-leak=wet@1h-2h'] });
  station.run(HOUR_MS + 60_000);
  return station;
}

const hourOf = (source: Source): CsvQuery => {
  const { atMs } = source.now();
  const channels = channelsOf(source.plant());
  return { channels, fromMs: atMs - HOUR_MS, toMs: atMs, everyMs: 60_000 };
};

async function textOf(rows: AsyncIterable<Buffer>): Promise<string> {
  let text = '';
  for await (const part of rows) text += part;
  return text;
}

describe('what another thread answers', () => {
  test('is what the books and the lines say, word for word', async () => {
    const { source } = eventful();
    const { reader } = reading(source);
    const past = pastOf(source);
    const json = async (question: Parameters<Reader['ask']>[1]) =>
      JSON.parse(String(await reader.ask({}, question)));
    expect(await json(INCIDENTS)).toEqual(await past.incidents());
    expect(await json(EVENTS)).toEqual(await past.events(EVENTS.query));
    const [incident] = await past.incidents();
    expect(await json({ about: 'story', id: incident?.id ?? '' })).toEqual(
      await past.story(incident?.id ?? ''),
    );
    expect(await reader.ask({}, { about: 'story', id: 'nothing' })).toBeNull();
    const table = hourOf(source);
    const query = {
      channels: table.channels.map(({ id }) => id),
      fromMs: table.fromMs,
      toMs: table.toMs,
      points: 60,
    };
    expect(await json({ about: 'history', query })).toEqual(await past.history(query));
    expect(await textOf(await reader.table({}, table))).toBe(await past.table(table));
  });

  test('goes on with the station: what changed since the last question is told, and nothing twice', async () => {
    const { source, run, coupled } = eventful();
    const { reader } = reading(source);
    const now = async () => [
      JSON.parse(String(await reader.ask({}, INCIDENTS))),
      JSON.parse(String(await reader.ask({}, EVENTS))),
      JSON.parse(String(await reader.ask({}, { about: 'books' }))),
    ];
    const anew = async () => {
      const past = pastOf(source);
      const books = { batches: await past.batches(), ledger: await past.ledger(), salt: null };
      return [await past.incidents(), await past.events(EVENTS.query), books];
    };
    expect(await now()).toEqual(await anew());
    run(HOUR_MS);
    void source.request({ ask: 'acknowledge', alarm: 'I-11/tray-leak' });
    run(10_000);
    void source.request({ ask: 'reset-trip', trip: 'I-11/tray-leak' });
    run(HOUR_MS, () => coupled.state().batch.stage !== 'idle');
    expect(await now()).toEqual(await anew());
    void source.request({ ask: 'abort', unit: 'batch' });
    run(30 * HOUR_MS);
    expect(await now()).toEqual(await anew());
  }, 300_000);
});

describe('how much at once', () => {
  test('of one session: the next read is refused in words, and another session is not', async () => {
    const { reader } = reading(panelStation().source, { readsOfOneSession: 2 }, silent);
    const [mine, other] = [{}, {}];
    const waiting = [mine, mine, other].map((who) => reader.ask(who, INCIDENTS).catch(() => {}));
    await expect(reader.ask(mine, INCIDENTS)).rejects.toMatchObject({
      statusCode: 429,
      message: expect.stringMatching(/2 reads .* this sign-in: wait/),
      retryS: 30,
    });
    await reader.close();
    await Promise.all(waiting);
  });

  test('of tables: one that is done, or that nobody wants any more, makes room', async () => {
    const { source } = eventful();
    const { reader } = reading(source, { tablesOfOneSession: 2 });
    const mine = {};
    const table = hourOf(source);
    const [first, second] = [await reader.table(mine, table), await reader.table(mine, table)];
    await expect(reader.table(mine, table)).rejects.toMatchObject({
      statusCode: 429,
      message: expect.stringMatching(/2 tables .* wait until one is done/),
    });
    expect(await textOf(first)).toContain('time (UTC)');
    const third = await reader.table(mine, table);
    await expect(reader.table(mine, table)).rejects.toMatchObject({ statusCode: 429 });
    second.destroy();
    await new Promise((done) => second.once('close', done));
    expect(await textOf(await reader.table(mine, table))).toContain('time (UTC)');
    third.destroy();
  });

  test('of everybody', async () => {
    const { reader } = reading(panelStation().source, { readsAtOnce: 3 }, silent);
    const waiting = [{}, {}, {}].map((who) => reader.ask(who, INCIDENTS).catch(() => {}));
    await expect(reader.ask({}, INCIDENTS)).rejects.toMatchObject({
      statusCode: 503,
      message: expect.stringMatching(/try again in 30 s/),
    });
    await reader.close();
    await Promise.all(waiting);
  });

  test('goes over the wire with its words and the time to come again', async () => {
    const served = await servedStation({
      beginReader: silent,
      limits: { readsOfOneSession: 1, pieceMs: 500 },
    });
    const me = await fetch(`${served.panel.url}/api/me`);
    const headers = { cookie: me.headers.getSetCookie()[0]?.split(';')[0] ?? '' };
    const ask = () => fetch(`${served.panel.url}/api/incidents`, { headers });
    const answers = await Promise.all([ask(), ask(), ask()]);
    const refused = answers.filter(({ status }) => status === 429);
    expect(refused).toHaveLength(2);
    for (const told of refused) {
      expect(told.headers.get('retry-after')).toBe('30');
      expect(await told.json()).toMatchObject({
        error: 'session-busy',
        words: expect.stringContaining('wait'),
      });
    }
    await served.close();
  });

  test('a table that nobody takes away is ended', async () => {
    const { source } = eventful();
    const { reader } = reading(source, { takeMs: 50 });
    const rows = await reader.table({}, hourOf(source));
    const error = await new Promise<Error>((told) => rows.once('error', told));
    expect(error.message).toContain('not taken away');
  });
});

describe('a thread that', () => {
  test.each([
    ['ends', 'process.exit(1)'],
    ['throws', "throw new Error('no memory left')"],
  ])('%s is missed, in words, and the next read gets a new one', async (_, script) => {
    const { source } = eventful();
    const { reader, heard } = reading(source, {}, oneAfterTheOther(doing(script), beginWorker));
    const [broken, next] = await Promise.allSettled([reader.ask({}, INCIDENTS), reader.ask({}, INCIDENTS)]);
    expect(broken).toMatchObject({
      reason: { statusCode: 503, message: expect.stringMatching(/broke off.*ask once more/) },
    });
    expect(next).toMatchObject({ status: 'fulfilled' });
    expect(heard).toHaveLength(1);
    expect(JSON.parse(String(await reader.ask({}, INCIDENTS)))).toHaveLength(1);
  });

  test('is ended while it works breaks off that read alone', async () => {
    let mine: Thread | null = null;
    const { source } = eventful();
    const { reader } = reading(source, {}, () => {
      mine = beginWorker();
      return mine;
    });
    await reader.ask({}, INCIDENTS);
    const asked = reader.ask({}, INCIDENTS);
    void (mine as Thread | null)?.terminate();
    await Promise.allSettled([asked]);
    expect(JSON.parse(String(await reader.ask({}, INCIDENTS)))).toHaveLength(1);
  });

  test('does not come to an end is ended, and whoever waited behind it is answered by the next', async () => {
    const { source } = eventful();
    const begin = oneAfterTheOther(doing('for (;;);'), beginWorker);
    const { reader, heard } = reading(source, { pieceMs: 8_000 }, begin);
    const [late, behind] = await Promise.allSettled([reader.ask({}, INCIDENTS), reader.ask({}, INCIDENTS)]);
    expect(late).toMatchObject({
      reason: { statusCode: 503, message: expect.stringMatching(/longer than 8 s .* shorter span/) },
    });
    expect(behind).toMatchObject({ status: 'fulfilled' });
    expect(heard.join()).toContain('given up');
  });

  test('can not be begun, or asked, is a fault inside, told to the log', async () => {
    const { source } = eventful();
    const none = () => {
      throw new Error('no thread to be had');
    };
    const { reader, heard } = reading(source, {}, oneAfterTheOther(none, beginWorker));
    await expect(reader.ask({}, INCIDENTS)).rejects.toMatchObject({ statusCode: 500 });
    expect(heard.join()).toContain('no thread to be had');
    expect(JSON.parse(String(await reader.ask({}, INCIDENTS)))).toHaveLength(1);
  });

  test('finds no journal says so, and where it lies stays inside', async () => {
    const { source } = eventful();
    const past = { ...source.past, journal: '/nowhere/journal.db' };
    const { reader, heard } = reading({ ...source, past });
    const query = { channels: ['reserve'], fromMs: 0, toMs: source.now().atMs, points: 10 };
    const asked = reader.ask({}, { about: 'history', query });
    await expect(asked).rejects.toMatchObject({
      statusCode: 503,
      message: expect.not.stringContaining('nowhere'),
    });
    const books = JSON.parse(String(await reader.ask({}, { about: 'books' })));
    expect(books).toMatchObject({ batches: [{ number: 1 }] });
    expect(heard).toHaveLength(1);
  });

  test('works for somebody else for too long is not waited for', async () => {
    const { reader } = reading(panelStation().source, { waitMs: 50 }, silent);
    const first = reader.ask({}, INCIDENTS).catch(() => {});
    await expect(reader.ask({}, INCIDENTS)).rejects.toMatchObject({
      statusCode: 503,
      message: expect.stringMatching(/try again/),
    });
    await reader.close();
    await first;
  });
});
