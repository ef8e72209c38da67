// What a page may read. None of it changes anything: a reload is a reload.
import { Readable } from 'node:stream';
import type { FastifyInstance } from 'fastify';
import { channelsOf } from './channels.ts';
import type { Channel } from './contract.ts';
import { csvOf } from './csv.ts';
import { type Keys, Refused } from './guard.ts';
import type { Live } from './live.ts';
import { paceOf } from './pace.ts';
import { MOST_POINTS } from './series.ts';
import type { Source } from './source.ts';
import { standingOf } from './standing.ts';

const LONGEST_MS = 400 * 86_400_000;
const HOUR_MS = 3_600_000;
const MOST_EVENTS = 2_000;

export interface Reading {
  readonly source: Source;
  readonly live: Live;
  readonly keys: Keys;
  readonly canWriteFile: boolean;
}

/** A reader that is sent away may come again after this, s. */
const RETRY_S = '30';

export function reading(app: FastifyInstance, { source, live, keys, canWriteFile }: Reading): void {
  const pace = paceOf();
  let exporting = false;
  app.get('/api/me', async (request, reply) => keys.me(request, reply));
  app.get('/api/station', async (request) => {
    keys.mayLook(request);
    return standingOf(source, canWriteFile);
  });
  app.get('/api/view', async (request) => {
    keys.mayLook(request);
    return live.view();
  });
  app.get('/api/live', async (request, reply) => {
    keys.mayLook(request);
    for (const [name, value] of Object.entries(reply.getHeaders()))
      if (value !== undefined) reply.raw.setHeader(name, value);
    if (!live.join(reply.raw, request.ip))
      throw new Refused(503, 'full', 'too many pages are open: close one and try again');
    reply.hijack();
  });
  app.get<{ Querystring: Record<string, unknown> }>('/api/history', async (request, reply) => {
    keys.mayLook(request);
    const { fromMs, toMs } = span(request.query);
    const channels = wanted(source, request.query).map(({ id }) => id);
    const points = number(request.query, 'points', 10, MOST_POINTS);
    reply.header('retry-after', RETRY_S);
    const answer = await pace.run(() => source.history({ channels, fromMs, toMs, points }));
    reply.removeHeader('retry-after');
    return answer;
  });
  app.get<{ Querystring: Record<string, unknown> }>('/api/history.csv', async (request, reply) => {
    keys.mayLook(request);
    const { fromMs, toMs } = span(request.query);
    const everyMs = number(request.query, 'every', 60_000, HOUR_MS);
    const channels = wanted(source, request.query);
    if (exporting) {
      reply.header('retry-after', RETRY_S);
      throw new Refused(503, 'busy', 'a table is being saved already: try again in half a minute');
    }
    exporting = true;
    const rows = Readable.from(csvOf(source, { channels, fromMs, toMs, everyMs }, pace));
    // Also where the browser goes away before the end: the stream is destroyed, and no further piece is made.
    rows.once('close', () => {
      exporting = false;
    });
    reply.header('content-type', 'text/csv; charset=utf-8');
    reply.header('content-disposition', `attachment; filename="${source.plant().id}-history.csv"`);
    return reply.send(rows);
  });
  app.get<{ Querystring: Record<string, unknown> }>('/api/events', async (request) => {
    keys.mayLook(request);
    const limit = number(request.query, 'limit', 1, MOST_EVENTS);
    return source.events({ ...span(request.query), limit });
  });
  app.get('/api/incidents', async (request) => {
    keys.mayLook(request);
    return source.incidents();
  });
  app.get<{ Params: { id: string } }>('/api/incidents/:id', async (request) => {
    keys.mayLook(request);
    const story = await source.story(request.params.id);
    if (story === null) throw new Refused(404, 'unknown', 'there is no such incident');
    return story;
  });
  app.get('/api/books', async (request) => {
    keys.mayLook(request);
    const [batches, ledger] = await Promise.all([source.batches(), source.ledger()]);
    return { batches, ledger, salt: (await source.saltStock?.()) ?? null };
  });
}

type Query = Readonly<Record<string, unknown>>;

function number(query: Query, field: string, least: number, most: number): number {
  const value = Number(query[field]);
  if (typeof query[field] !== 'string' || !Number.isFinite(value) || value < least || value > most)
    throw new Refused(400, 'query', `${field}: give a number from ${least} to ${most}`);
  return value;
}

function span(query: Query): { fromMs: number; toMs: number } {
  const fromMs = number(query, 'from', 0, Number.MAX_SAFE_INTEGER);
  const toMs = number(query, 'to', 0, Number.MAX_SAFE_INTEGER);
  if (toMs <= fromMs || toMs - fromMs > LONGEST_MS)
    throw new Refused(400, 'query', 'to: give a moment after from, at most 400 days later');
  return { fromMs, toMs };
}

function wanted(source: Source, query: Query): readonly Channel[] {
  const given = query.channels;
  const all = channelsOf(source.plant());
  if (given === undefined) return all;
  const ids = String(given).split(',');
  const unknown = ids.find((id) => !all.some((channel) => channel.id === id));
  if (unknown !== undefined)
    throw new Refused(400, 'query', `channels: there is no line '${unknown.slice(0, 100)}'`);
  return all.filter(({ id }) => ids.includes(id));
}
