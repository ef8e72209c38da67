// What a page may read. None of it changes anything: a reload is a reload. What is now is said here; what was is the
// reader's (reader.ts), whose answers are passed on as they come.
import type { FastifyInstance, FastifyReply } from 'fastify';
import { channelsOf } from './channels.ts';
import type { Channel } from './contract.ts';
import { type Keys, Refused } from './guard.ts';
import { MOST_POINTS } from './journal-lines.ts';
import type { Live } from './live.ts';
import type { Reader } from './reader.ts';
import type { Source } from './source.ts';
import { standingOf } from './standing.ts';

const LONGEST_MS = 400 * 86_400_000;
const HOUR_MS = 3_600_000;
const MOST_EVENTS = 2_000;

export interface Reading {
  readonly source: Source;
  readonly live: Live;
  readonly reader: Reader;
  readonly keys: Keys;
  readonly canWriteFile: boolean;
}

export function reading(app: FastifyInstance, { source, live, reader, keys, canWriteFile }: Reading): void {
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
    const who = keys.mayLook(request);
    const { fromMs, toMs } = span(request.query);
    const channels = wanted(source, request.query).map(({ id }) => id);
    const points = number(request.query, 'points', 10, MOST_POINTS);
    const query = { channels, fromMs, toMs, points };
    return json(reply, await reader.ask(who, { about: 'history', query }));
  });
  app.get<{ Querystring: Record<string, unknown> }>('/api/history.csv', async (request, reply) => {
    const who = keys.mayLook(request);
    const { fromMs, toMs } = span(request.query);
    const everyMs = number(request.query, 'every', 60_000, HOUR_MS);
    const channels = wanted(source, request.query);
    const rows = await reader.table(who, { channels, fromMs, toMs, everyMs });
    reply.header('content-type', 'text/csv; charset=utf-8');
    reply.header('content-disposition', `attachment; filename="${source.plant().id}-history.csv"`);
    return reply.send(rows);
  });
  app.get<{ Querystring: Record<string, unknown> }>('/api/events', async (request, reply) => {
    const who = keys.mayLook(request);
    const limit = number(request.query, 'limit', 1, MOST_EVENTS);
    const query = { ...span(request.query), limit };
    return json(reply, await reader.ask(who, { about: 'events', query }));
  });
  app.get('/api/incidents', async (request, reply) => {
    const who = keys.mayLook(request);
    return json(reply, await reader.ask(who, { about: 'incidents' }));
  });
  app.get<{ Params: { id: string } }>('/api/incidents/:id', async (request, reply) => {
    const who = keys.mayLook(request);
    const story = await reader.ask(who, { about: 'story', id: request.params.id });
    if (story === null) throw new Refused(404, 'unknown', 'there is no such incident');
    return json(reply, story);
  });
  app.get('/api/books', async (request, reply) => {
    const who = keys.mayLook(request);
    return json(reply, await reader.ask(who, { about: 'books' }));
  });
}

const json = (reply: FastifyReply, body: Buffer | null): FastifyReply =>
  reply.type('application/json; charset=utf-8').send(body);

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
