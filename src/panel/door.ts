// Who may come in at all: on which address the page is served, under which names, and what has to be true for that.
//
// Loopback needs nothing more. Any other address shows the station to a network, so it needs people who sign in, and a
// wire nobody else reads: its own TLS, or a reverse proxy that is named here and is the only one let in.
import { isIP } from 'node:net';
import { Coded } from '../errors/coded.ts';
import { LOOPBACK_ADDRESSES, LOOPBACK_HOST } from './panel-file.ts';
import type { Person } from './people.ts';

export interface Tls {
  /** PEM. */
  readonly key: string | Buffer;
  readonly cert: string | Buffer;
}

export interface Proxy {
  /** Where people reach it: `https://vats.example.org`. */
  readonly origin: string;
  /** The addresses it connects from; loopback by default. */
  readonly addresses?: readonly string[];
}

export interface DoorOptions {
  readonly host?: string;
  readonly tls?: Tls;
  readonly behindProxy?: Proxy;
  readonly people?: readonly Person[];
}

export interface Door {
  readonly host: string;
  readonly kind: 'loopback' | 'tls' | 'proxy';
  /** Cookies and headers for a wire nobody else reads. */
  readonly isSecure: boolean;
  readonly signInNeeded: boolean;
  /** May this connection, under this Host header, talk to us? */
  readonly admits: (remoteAddress: string, host: string) => boolean;
  /** Is this Origin header one of our own pages? */
  readonly isOwnOrigin: (origin: string, host: string) => boolean;
  /** Addresses whose `X-Forwarded-For` is believed. */
  readonly trusted: readonly string[];
}

/** An address, a certificate or a list of people that can't be served like this; says what would do. */
export class DoorError extends Coded {
  override readonly name = 'DoorError';
}

const LOOPBACK_NAMES = ['localhost', '127.0.0.1', '[::1]'];

export function isLoopback(host: string): boolean {
  return host === 'localhost' || host === '::1' || (isIP(host) === 4 && host.startsWith('127.'));
}

/** @throws DoorError naming the option and the mend */
export function doorOf(options: DoorOptions): Door {
  const { host = LOOPBACK_HOST, tls, behindProxy, people = [] } = options;
  const signInNeeded = people.length > 0;
  if (tls && behindProxy)
    throw new DoorError(
      'E-222',
      'tls and behindProxy: one of the two; behind a proxy the proxy holds the certificate',
    );
  if (!isLoopback(host) && !tls && !behindProxy)
    throw new DoorError(
      'E-222',
      `host ${host}: anybody on that network could read and steer the station. Give tls (a key and a certificate), or behindProxy with the https origin of a reverse proxy, or leave host at 127.0.0.1`,
    );
  if ((!isLoopback(host) || behindProxy) && !signInNeeded)
    throw new DoorError('E-222', `host ${host}: reached from elsewhere, so people must sign in: give people`);
  const base = { host, signInNeeded };
  if (behindProxy) return { ...base, ...proxyDoor(behindProxy) };
  if (tls) return { ...base, ...tlsDoor() };
  return { ...base, ...loopbackDoor() };
}

type Rest = Omit<Door, 'host' | 'signInNeeded'>;

function loopbackDoor(): Rest {
  // A page elsewhere may point its own name at 127.0.0.1 and have the browser talk to us: the name gives it away.
  const isOurs = (host: string) => LOOPBACK_NAMES.includes(nameOf(host));
  return {
    kind: 'loopback',
    isSecure: false,
    admits: (_, host) => isOurs(host),
    isOwnOrigin: (origin, host) => origin === `http://${host}` && isOurs(host),
    trusted: [],
  };
}

function tlsDoor(): Rest {
  return {
    kind: 'tls',
    isSecure: true,
    admits: (_, host) => host !== '',
    isOwnOrigin: (origin, host) => origin === `https://${host}`,
    trusted: [],
  };
}

function proxyDoor({ origin, addresses = LOOPBACK_ADDRESSES }: Proxy): Rest {
  const url = URL.canParse(origin) ? new URL(origin) : null;
  if (url?.protocol !== 'https:' || url.origin !== origin)
    throw new DoorError(
      'E-222',
      `behindProxy.origin ${origin}: give scheme, name and port as people type them, and nothing more, for example https://vats.example.org`,
    );
  return {
    kind: 'proxy',
    isSecure: true,
    admits: (remoteAddress) => addresses.includes(remoteAddress),
    isOwnOrigin: (found) => found === origin,
    trusted: addresses,
  };
}

const nameOf = (host: string): string => host.replace(/:\d+$/u, '');
