// The page's server: one address, one page, one stream. It decides nothing: it shows what a Source says, and hands on
// what a person asks.
import { existsSync } from 'node:fs';
import staticFiles from '@fastify/static';
import Fastify, { type FastifyError, type FastifyInstance } from 'fastify';
import { acting, type StationText } from './acting.ts';
import { builtFile } from './built.ts';
import { type DoorOptions, doorOf } from './door.ts';
import { type Guarding, guard, keysOf, RATE_LIMITS, type RateLimits, Refused } from './guard.ts';
import { type LiveLimits, liveOf } from './live.ts';
import { checkPeople, sessionsOf } from './people.ts';
import { reading } from './reading.ts';
import type { Source } from './source.ts';
import { whatIfs } from './what-if.ts';

export interface PanelOptions extends DoorOptions {
  readonly source: Source;
  /** 0: any free one. */
  readonly port?: number;
  /** The station file, where targets may be changed from the page. */
  readonly station?: StationText;
  readonly limits?: Partial<RateLimits & LiveLimits>;
  /** A directory with the built page; by default the one shipped. */
  readonly pageDirectory?: string;
}

export interface Panel {
  readonly url: string;
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
 * @throws RangeError for people that can't be used
 * @throws Error where the port is taken, or the page was not built
 */
export async function startPanel(options: PanelOptions): Promise<Panel> {
  const { source, port = USUAL_PORT, people = [], station = null } = options;
  const door = doorOf(options);
  checkPeople(people);
  const pageDirectory = options.pageDirectory ?? builtFile('page');
  if (!existsSync(`${pageDirectory}/index.html`))
    throw new Error(`there is no page in ${pageDirectory}: run npm run build`);
  const limits = { ...RATE_LIMITS, ...PAGES, ...options.limits };
  const guarding: Guarding = { door, people, sessions: sessionsOf(), limits };

  const app = Fastify({
    bodyLimit: BODY_BYTES,
    trustProxy: door.trusted.length > 0 ? [...door.trusted] : false,
    ajv: {
      customOptions: { coerceTypes: false, removeAdditional: false, useDefaults: false, allErrors: false },
    },
    forceCloseConnections: true,
    ...(options.tls ? { https: { key: options.tls.key, cert: options.tls.cert } } : {}),
  }) as unknown as FastifyInstance;
  complaints(app);
  await guard(app, guarding);
  const keys = keysOf(guarding);
  const live = liveOf(source, limits);
  const whatIf = whatIfs();
  reading(app, { source, live, keys, canWriteFile: station !== null });
  acting(app, { source, keys, limits, whatIf, station });
  await app.register(staticFiles, {
    root: pageDirectory,
    preCompressed: true,
    cacheControl: false,
    setHeaders: (reply, path) => {
      // The names of assets carry their contents' hash; the page itself is asked for every time.
      const forever = /[\\/]assets[\\/]/u.test(path);
      reply.header('cache-control', forever ? 'public, max-age=31536000, immutable' : 'no-cache');
    },
  });
  await app.listen({ host: door.host, port });
  const address = app.server.address();
  const bound = typeof address === 'object' && address !== null ? address.port : port;
  const name = door.host.includes(':') ? `[${door.host}]` : door.host;
  return {
    url:
      door.kind === 'proxy'
        ? (options.behindProxy?.origin ?? '')
        : `http${options.tls ? 's' : ''}://${name}:${bound}`,
    pages: live.pages,
    close: async () => {
      live.close();
      await whatIf.close();
      await app.close();
    },
  };
}

/** Every refusal is one line of JSON; what went wrong inside stays inside. */
function complaints(app: FastifyInstance): void {
  app.setErrorHandler((error: FastifyError | Refused, _, reply) => {
    const status = error.statusCode ?? 500;
    const kind =
      error instanceof Refused ? error.error : status === 429 ? 'often' : status < 500 ? 'request' : 'inside';
    const words =
      status === 429
        ? 'too often: wait a minute'
        : status < 500 || error instanceof Refused
          ? error.message
          : 'this service has a fault: look at its log';
    if (status >= 500 && !(error instanceof Refused))
      process.stderr.write(`panel: ${error.stack ?? error}\n`);
    return reply.code(status).send({ error: kind, words });
  });
  app.setNotFoundHandler((_, reply) =>
    reply.code(404).send({ error: 'unknown', words: 'there is nothing here' }),
  );
}
