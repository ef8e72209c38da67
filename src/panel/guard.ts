// What every request must pass: the door, the session, the token and the origin for whatever changes something, and the
// role. Headers that keep a foreign page from framing or scripting this one; limits on how often.
import cookie from '@fastify/cookie';
import helmet from '@fastify/helmet';
import rateLimit from '@fastify/rate-limit';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { Me } from './contract.ts';
import type { Door } from './door.ts';
import { type Person, personFor, type Session, type Sessions, sameToken } from './people.ts';

export interface Guarding {
  readonly door: Door;
  readonly people: readonly Person[];
  readonly sessions: Sessions;
  readonly limits: RateLimits;
  /** Which page is served. */
  readonly page: string;
}

/** Requests a minute from one address. */
export interface RateLimits {
  readonly reads: number;
  readonly asks: number;
  readonly signIns: number;
}
export const RATE_LIMITS: RateLimits = { reads: 1_200, asks: 120, signIns: 6 };

export class Refused extends Error {
  override readonly name = 'Refused';
  readonly statusCode: number;
  readonly error: string;
  /** After how long it is worth asking again, s; null: nothing changes by waiting. */
  readonly retryS: number | null;

  constructor(statusCode: number, error: string, words: string, retryS: number | null = null) {
    super(words);
    this.statusCode = statusCode;
    this.error = error;
    this.retryS = retryS;
  }
}

export async function guard(app: FastifyInstance, { door, limits }: Guarding): Promise<void> {
  app.addHook('onRequest', async (request) => {
    if (!door.admits(request.socket.remoteAddress ?? '', request.host))
      throw new Refused(421, 'door', 'this address or name is not served here');
  });
  await app.register(rateLimit, { global: true, max: limits.reads, timeWindow: 60_000 });
  await app.register(cookie);
  await app.register(helmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        fontSrc: ["'self'"],
        imgSrc: ["'self'"],
        connectSrc: ["'self'"],
        baseUri: ["'none'"],
        formAction: ["'none'"],
        frameAncestors: ["'none'"],
      },
    },
    hsts: door.isSecure,
    frameguard: { action: 'deny' },
    referrerPolicy: { policy: 'no-referrer' },
    crossOriginResourcePolicy: { policy: 'same-origin' },
  });
}

export interface Keys {
  /** The session of this request; begins one where nobody has to sign in. */
  readonly me: (request: FastifyRequest, reply: FastifyReply) => Me;
  /** Reading. @throws Refused */
  readonly mayLook: (request: FastifyRequest) => Session;
  /** Asking: signed in to act, with the token, from our own page. @throws Refused */
  readonly mayAct: (request: FastifyRequest) => Session;
  readonly signIn: (
    request: FastifyRequest,
    reply: FastifyReply,
    name: string,
    password: string,
  ) => Promise<Me>;
  readonly signOut: (request: FastifyRequest, reply: FastifyReply) => void;
}

export function keysOf({ door, people, sessions, page }: Guarding): Keys {
  const cookieName = door.isSecure ? '__Host-panel' : 'panel';
  const shown = (session: Session | null): Me => ({
    signedIn: session !== null,
    signInNeeded: door.signInNeeded,
    name: session?.name ?? null,
    role: session?.role ?? 'look',
    token: session?.token ?? null,
    page,
  });
  const find = (request: FastifyRequest) => sessions.find(request.cookies[cookieName]);
  const hand = (reply: FastifyReply, id: string) =>
    reply.setCookie(cookieName, id, { path: '/', httpOnly: true, sameSite: 'strict', secure: door.isSecure });
  /** A form or a script of another page can bring the cookie, never the origin and the token. */
  const fromOurPage = (request: FastifyRequest): void => {
    const { origin } = request.headers;
    if (typeof origin !== 'string' || !door.isOwnOrigin(origin, request.host))
      throw new Refused(403, 'origin', 'this was not sent from a page of this service');
    const site = request.headers['sec-fetch-site'];
    if (site !== undefined && site !== 'same-origin')
      throw new Refused(403, 'origin', 'this was not sent from a page of this service');
  };
  const look = (request: FastifyRequest): Session => {
    const session = find(request);
    if (session === null) throw new Refused(401, 'sign-in', 'sign in first');
    return session;
  };

  return {
    me: (request, reply) => {
      const session = find(request);
      if (session !== null || door.signInNeeded) return shown(session);
      const begun = sessions.begin(null, 'act');
      hand(reply, begun.id);
      return shown(begun.session);
    },
    mayLook: look,
    mayAct: (request) => {
      fromOurPage(request);
      const session = look(request);
      if (!sameToken(request.headers['x-panel-token'], session.token))
        throw new Refused(403, 'token', 'the token is missing or old: load the page again');
      if (session.role !== 'act')
        throw new Refused(403, 'role', `${session.name ?? 'this sign-in'} may look, not act`);
      return session;
    },
    signIn: async (request, reply, name, password) => {
      fromOurPage(request);
      const person = await personFor(people, name, password);
      if (person === null) throw new Refused(401, 'sign-in', 'name or password is wrong');
      // A new session for each sign-in: a cookie that somebody planted before is worth nothing after.
      sessions.end(request.cookies[cookieName]);
      const begun = sessions.begin(person.name, person.may);
      hand(reply, begun.id);
      return shown(begun.session);
    },
    signOut: (request, reply) => {
      fromOurPage(request);
      sessions.end(request.cookies[cookieName]);
      reply.clearCookie(cookieName, { path: '/', secure: door.isSecure });
    },
  };
}
