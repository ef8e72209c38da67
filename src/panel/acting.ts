// What a page may ask for. Each needs a signed-in person who may act, the token, and our own page as its origin; then it
// is the core's to decide, and its answer goes back word for word.

import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { message } from '../language/message.ts';
import { CHANGE_SCHEMA, REQUEST_SCHEMA, SALT_SCHEMA, SIGN_IN_SCHEMA, signedBy } from './asking.ts';
import type { Answer, Change, PageRequest, Words } from './contract.ts';
import { type Edited, editStation } from './edit-station.ts';
import { type Keys, type RateLimits, Refused } from './guard.ts';
import type { Source } from './source.ts';
import type { WhatIfs } from './what-if.ts';

export interface StationText {
  readonly file: string;
  readonly text: string;
  /** Writes the changed text; without it the person gets it to take away. */
  readonly save?: (text: string) => Promise<void>;
}

export interface Acting {
  readonly source: Source;
  readonly keys: Keys;
  readonly limits: RateLimits;
  readonly whatIf: WhatIfs;
  readonly station: StationText | null;
}

export function acting(app: FastifyInstance, { source, keys, limits, whatIf, station }: Acting): void {
  const often = (max: number) => ({ rateLimit: { max, timeWindow: 60_000 } });
  const body = (schema: object, max = limits.asks) => ({ schema: { body: schema }, config: often(max) });
  let text = station?.text ?? null;

  app.post<{ Body: { name: string; password: string } }>(
    '/api/sign-in',
    body(SIGN_IN_SCHEMA, limits.signIns),
    async (request, reply) => keys.signIn(request, reply, request.body.name, request.body.password),
  );
  app.post('/api/sign-out', { config: often(limits.asks) }, async (request, reply) => {
    keys.signOut(request, reply);
    return { accepted: true, words: 'signed out' };
  });
  app.post<{ Body: PageRequest }>('/api/request', body(REQUEST_SCHEMA), async (request) => {
    const { name } = keys.mayAct(request);
    if (!source.asks.includes(request.body.ask))
      return refused(`this station does not understand '${request.body.ask}'`);
    return source.request(signedBy(name, request.body));
  });
  app.post<{ Body: { massKg: number } }>('/api/salt-stock', body(SALT_SCHEMA), async (request) => {
    keys.mayAct(request);
    return source.countSalt?.(request.body.massKg) ?? refused('the store of salt is not kept here');
  });

  const edit = (change: Change): Edited => {
    if (station === null || text === null)
      return { ok: false, words: 'the text of the station file is not known here' };
    return editStation(station.file, text, change);
  };
  const mayChange = (request: FastifyRequest): void => {
    keys.mayAct(request);
    if (station === null) throw new Refused(404, 'unknown', 'targets can not be changed here');
  };
  app.post<{ Body: Change }>('/api/what-if', body(CHANGE_SCHEMA, 20), async (request) => {
    mayChange(request);
    const edited = edit(request.body);
    if (!edited.ok) return { ...refused(edited.words), id: null };
    // Both from the file: what else differs from the running plant must not look like a consequence of the change.
    const now = edit({});
    const id = whatIf.begin(now.ok ? now.plant : source.plant(), edited.plant, source.state());
    return { accepted: true, words: message('days-are-running'), id };
  });
  app.get<{ Params: { id: string } }>('/api/what-if/:id', async (request) => {
    keys.mayLook(request);
    const outcome = whatIf.outcome(Number(request.params.id));
    if (outcome === null) throw new Refused(404, 'unknown', 'another question was asked since');
    return outcome;
  });
  app.post<{ Body: Change }>('/api/change', body(CHANGE_SCHEMA, 20), async (request): Promise<Answer> => {
    mayChange(request);
    const edited = edit(request.body);
    if (!edited.ok) return refused(edited.words);
    if (station?.save) {
      await station.save(edited.text);
      text = edited.text;
    }
    if (source.adopt) return source.adopt(edited.plant);
    return station?.save
      ? {
          accepted: true,
          words: message('written-into-file'),
        }
      : refused(message('file-not-writable'));
  });
  app.post<{ Body: Change }>(
    '/api/change/file',
    body(CHANGE_SCHEMA, 20),
    async (request, reply: FastifyReply) => {
      mayChange(request);
      const edited = edit(request.body);
      if (!edited.ok) throw new Refused(400, 'change', edited.words);
      reply.header('content-type', 'application/json; charset=utf-8');
      return edited.text;
    },
  );
}

const refused = (words: Words): Answer => ({ accepted: false, words });
