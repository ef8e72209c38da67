// People who may sign in, and who is signed in. Passwords are kept as scrypt (RFC 7914) and never as themselves; a session
// is a random cookie, its token a second one that a foreign page can't read and so can't send along.
import { randomBytes, type ScryptOptions, scrypt, timingSafeEqual } from 'node:crypto';
import { Coded } from '../errors/coded.ts';
import type { Role } from './contract.ts';

export interface Person {
  readonly name: string;
  readonly may: Role;
  /** As `hashPassword` made it. */
  readonly password: string;
}

export interface Session {
  readonly name: string | null;
  readonly role: Role;
  readonly token: string;
  readonly beganMs: number;
  usedMs: number;
}

export interface Sessions {
  readonly begin: (name: string | null, role: Role) => { readonly id: string; readonly session: Session };
  readonly find: (id: string | undefined) => Session | null;
  readonly end: (id: string | undefined) => void;
}

const COST = { N: 2 ** 15, r: 8, p: 1 } as const;
const MEMORY_BYTES = 64 * 1024 * 1024;
const KEY_BYTES = 32;
const SHORTEST = 10;
/** A phone at the station stays signed in over a working day, a forgotten one no longer than a week. */
const IDLE_MS = 24 * 3_600_000;
const LONGEST_MS = 7 * 24 * 3_600_000;
const MOST_SESSIONS = 1_000;

/** The line to put into the configuration. @throws Coded for a password that is too short */
export async function hashPassword(password: string): Promise<string> {
  if (password.length < SHORTEST)
    throw new Coded('E-123', `a password needs at least ${SHORTEST} characters: a sentence is easy to keep`);
  const salt = randomBytes(16);
  const key = await derive(password, salt, COST);
  return ['scrypt', COST.N, COST.r, COST.p, salt.toString('base64'), key.toString('base64')].join('$');
}

/** Takes as long for a name that does not exist as for one that does. */
export async function personFor(
  people: readonly Person[],
  name: string,
  password: string,
): Promise<Person | null> {
  const person = people.find((one) => one.name === name);
  const right = await matches(person?.password ?? NOBODY, password);
  return right && person ? person : null;
}

const NOBODY = ['scrypt', COST.N, COST.r, COST.p, 'AAAAAAAAAAAAAAAAAAAAAA==', 'AA=='].join('$');

async function matches(kept: string, password: string): Promise<boolean> {
  const [scheme, n, r, p, salt = '', key = ''] = kept.split('$');
  const [N, R, P] = [Number(n), Number(r), Number(p)];
  if (scheme !== 'scrypt' || !(N >= 2 && N <= 2 ** 20) || !(R >= 1 && R <= 32) || !(P >= 1 && P <= 16))
    return false;
  const expected = Buffer.from(key, 'base64');
  const found = await derive(password, Buffer.from(salt, 'base64'), { N, r: R, p: P });
  return expected.length === found.length && timingSafeEqual(expected, found);
}

/** @throws Coded naming the person whose entry can't be used */
export function checkPeople(people: readonly Person[]): void {
  const names = new Set<string>();
  for (const { name, may, password } of people) {
    if (name.trim() === '' || names.has(name))
      throw new Coded('E-221', `people: '${name}' is empty or stands there twice`);
    if (may !== 'look' && may !== 'act')
      throw new Coded('E-221', `people: '${name}' may '${may}': write look or act`);
    if (!/^scrypt\$\d+\$\d+\$\d+\$[\w+/=]+\$[\w+/=]+$/u.test(password))
      throw new Coded('E-221', `people: the password of '${name}' is not one that hashPassword made`);
    names.add(name);
  }
}

function derive(password: string, salt: Buffer, cost: ScryptOptions): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    scrypt(password.normalize('NFKC'), salt, KEY_BYTES, { ...cost, maxmem: MEMORY_BYTES }, (error, key) =>
      error ? reject(error) : resolve(key),
    );
  });
}

/** @param nowMs the wall's milliseconds; sessions are about people, not about the station */
export function sessionsOf(nowMs: () => number = Date.now): Sessions {
  const sessions = new Map<string, Session>();
  const random = () => randomBytes(32).toString('base64url');
  const isOver = ({ beganMs, usedMs }: Session) =>
    nowMs() - usedMs > IDLE_MS || nowMs() - beganMs > LONGEST_MS;
  return {
    begin: (name, role) => {
      const id = random();
      const session = { name, role, token: random(), beganMs: nowMs(), usedMs: nowMs() };
      sessions.set(id, session);
      const oldest = sessions.keys().next().value;
      if (sessions.size > MOST_SESSIONS && oldest !== undefined) sessions.delete(oldest);
      return { id, session };
    },
    find: (id) => {
      const session = id === undefined ? undefined : sessions.get(id);
      if (id === undefined || session === undefined) return null;
      if (isOver(session)) {
        sessions.delete(id);
        return null;
      }
      session.usedMs = nowMs();
      return session;
    },
    end: (id) => {
      if (id !== undefined) sessions.delete(id);
    },
  };
}

export function sameToken(given: unknown, token: string): boolean {
  if (typeof given !== 'string') return false;
  const [a, b] = [Buffer.from(given), Buffer.from(token)];
  return a.length === b.length && timingSafeEqual(a, b);
}
