// The page's server: one address, one page, one stream. It decides nothing: it shows what a Source says, and hands on
// what a person asks.
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import staticFiles from '@fastify/static';
import Fastify, { type FastifyError, type FastifyInstance } from 'fastify';
import { Coded, portTrouble, wordsOf } from '../errors/coded.ts';
import { acting, type StationText } from './acting.ts';
import { builtFile } from './built.ts';
import { type DoorOptions, doorOf } from './door.ts';
import { type Guarding, guard, keysOf, RATE_LIMITS, type RateLimits, Refused } from './guard.ts';
import { type LiveLimits, liveOf } from './live.ts';
import { checkPeople, sessionsOf } from './people.ts';
import { READER_LIMITS, type ReaderLimits, readerOf } from './reader.ts';
import type { Thread } from './reader-thread.ts';
import { reading } from './reading.ts';
import type { Source } from './source.ts';
import { whatIfs } from './what-if.ts';

export interface PanelOptions extends DoorOptions {
  readonly source: Source;
  /** 0: any free one. */
  readonly port?: number;
  /** The station file, where targets may be changed from the page. */
  readonly station?: StationText;
  readonly limits?: Partial<RateLimits & LiveLimits & ReaderLimits>;
  /** A directory with the built page; by default the one shipped. */
  readonly pageDirectory?: string;
  /** A thread that reads the past; by default the one shipped. */
  readonly beginReader?: () => Thread;
  /** Told of faults inside; by default standard error. */
  readonly log?: { readonly error: (fields: object, event: string) => void };
}

export interface Panel {
  /** Where people open it. */
  readonly url: string;
  /** Where it listens: the same, unless a proxy stands before it. */
  readonly listensAt: string;
  /** Pages that look on now. */
  readonly pages: () => number;
  readonly close: () => Promise<void>;
}

const USUAL_PORT = 8460;
const PAGES: LiveLimits = { pages: 100, pagesOfOneAddress: 40 };
const BODY_BYTES = 16_384;

/**
 * Serves the page.
 * @throws DoorError for an address that would show the station to a network without protection
 * @throws Coded for people that can't be used, a port that is taken, a page that was not built
 */
export async function startPanel(options: PanelOptions): Promise<Panel> {
  const { source, port = USUAL_PORT, people = [], station = null } = options;
  const door = doorOf(options);
  checkPeople(people);
  const pageDirectory = options.pageDirectory ?? builtFile('page');
  if (!existsSync(`${pageDirectory}/index.html`))
    throw new Coded(
      'E-902',
      `there is no page in ${pageDirectory}: install Vatwarden again, or run \`npm run build\` in a clone`,
    );
  const limits = { ...RATE_LIMITS, ...PAGES, ...READER_LIMITS, ...options.limits };
  const page = createHash('sha256')
    .update(readFileSync(`${pageDirectory}/index.html`))
    .digest('hex')
    .slice(0, 16);
  const guarding: Guarding = { door, people, sessions: sessionsOf(), limits, page };

  const app = keyed(options, () =>
    Fastify({
      bodyLimit: BODY_BYTES,
      trustProxy: door.trusted.length > 0 ? [...door.trusted] : false,
      ajv: {
        customOptions: { coerceTypes: false, removeAdditional: false, useDefaults: false, allErrors: false },
      },
      forceCloseConnections: true,
      ...(options.tls ? { https: { key: options.tls.key, cert: options.tls.cert } } : {}),
    }),
  ) as unknown as FastifyInstance;
  const log = options.log ?? toStandardError;
  complaints(app, log);
  await guard(app, guarding);
  const keys = keysOf(guarding);
  const failed = (error: unknown): void =>
    log.error({ error: error instanceof Error ? error.stack : String(error) }, 'page-failed');
  const live = liveOf(source, limits, failed);
  const reader = readerOf(source, limits, failed, options.beginReader);
  const whatIf = whatIfs();
  reading(app, { source, live, reader, keys, canWriteFile: station !== null });
  acting(app, { source, keys, limits, whatIf, station });
  await app.register(staticFiles, {
    root: pageDirectory,
    preCompressed: true,
    cacheControl: false,
    setHeaders: (reply, path) => {
      // The names of assets carry their contents' hash; the page itself is asked for every time.
      const forever = /[\\/]assets[\\/]/u.test(path);
      reply.setHeader('cache-control', forever ? 'public, max-age=31536000, immutable' : 'no-cache');
    },
  });
  await app.listen({ host: door.host, port }).catch((error) => {
    throw portTrouble('the panel', port, '--panel', error);
  });
  const address = app.server.address();
  const bound = typeof address === 'object' && address !== null ? address.port : port;
  const name = door.host.includes(':') ? `[${door.host}]` : door.host;
  const listensAt = `http${options.tls ? 's' : ''}://${name}:${bound}`;
  return {
    url: options.behindProxy?.origin ?? listensAt,
    listensAt,
    pages: live.pages,
    close: async () => {
      live.close();
      await whatIf.close();
      await reader.close();
      await app.close();
    },
  };
}

/** A key that does not belong to the certificate shows only when a server is made of them. */
function keyed<T>({ tls }: PanelOptions, make: () => T): T {
  try {
    return make();
  } catch (error) {
    if (tls === undefined) throw error;
    const words = `the panel's key and certificate can't be used (${wordsOf(error)}): both must be PEM and belong together`;
    throw new Coded('E-223', words, error);
  }
}

const toStandardError = {
  error: (fields: object, event: string) => {
    process.stderr.write(`${JSON.stringify({ event, ...fields })}\n`);
  },
};

/** Every refusal is one line of JSON; what went wrong inside stays inside. */
function complaints(app: FastifyInstance, log: NonNullable<PanelOptions['log']>): void {
  app.setErrorHandler((error: FastifyError | Refused, _, reply) => {
    const status = error.statusCode ?? 500;
    const kind =
      error instanceof Refused ? error.error : status === 429 ? 'often' : status < 500 ? 'request' : 'inside';
    const words =
      error instanceof Refused
        ? error.message
        : status === 429
          ? 'too often: wait a minute'
          : status < 500
            ? error.message
            : 'this service has a fault: look at its log';
    if (status >= 500 && !(error instanceof Refused))
      log.error({ error: error.stack ?? String(error) }, 'page-failed');
    if (error instanceof Refused && error.retryS !== null) reply.header('retry-after', String(error.retryS));
    return reply.code(status).send({ error: kind, words });
  });
  app.setNotFoundHandler((_, reply) =>
    reply.code(404).send({ error: 'unknown', words: 'there is nothing here' }),
  );
}
