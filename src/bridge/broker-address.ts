// Where the broker is and how to get in; everything that could make the link quietly less safe is refused here.
import { Coded } from '../errors/coded.ts';
import { nearestSpelling } from '../units/quantity.ts';

export interface Address {
  readonly protocol: 'mqtt' | 'mqtts' | 'ws' | 'wss';
  readonly host: string;
  readonly port: number;
  /** WebSocket only. */
  readonly path: string;
}

const PORTS = { mqtt: 1883, mqtts: 8883, ws: 80, wss: 443 } as const;

/** What a person wrote cannot be used; the message says what to write instead. */
export class AddressError extends Coded {
  override readonly name = 'AddressError';
}

/**
 * Reads `mqtt://host:1883`, `mqtts://`, `ws://host/path`, `wss://`.
 * @throws AddressError for another scheme, and for a password in the address: process lists and logs show addresses.
 */
export function readAddress(text: string): Address {
  const url = URL.canParse(text) ? new URL(text) : null;
  const scheme = url?.protocol.replace(/:$/u, '') ?? '';
  if (url === null || !isScheme(scheme) || url.hostname === '') {
    const meant = nearestSpelling(scheme, Object.keys(PORTS));
    const hint = meant === undefined || meant === scheme ? '' : ` (did you mean ${meant}://?)`;
    throw new AddressError(
      'E-106',
      `'${text}' is no broker address: write mqtt://HOST:PORT or mqtts://HOST:PORT${hint}`,
    );
  }
  if (url.username !== '' || url.password !== '') {
    throw new AddressError(
      'E-106',
      'the broker address holds a user name or password, and addresses end up in logs: use --username and --password-file',
    );
  }
  if (url.search !== '' || url.hash !== '') {
    throw new AddressError(
      'E-106',
      `'${text}' has something after the host that no broker needs: leave '${url.search}${url.hash}' out`,
    );
  }
  if (url.pathname.length > 1 && !scheme.startsWith('ws')) {
    throw new AddressError(
      'E-106',
      `'${text}' has a path, which only ws:// and wss:// know: leave '${url.pathname}' out`,
    );
  }
  const host = url.hostname.replace(/^\[|\]$/gu, '');
  return {
    protocol: scheme,
    host,
    port: url.port === '' ? PORTS[scheme] : Number(url.port),
    path: url.pathname,
  };
}

function isScheme(scheme: string): scheme is keyof typeof PORTS {
  return Object.hasOwn(PORTS, scheme);
}

/**
 * R20: a certificate that nobody checks is no certificate. There is no option to leave the check out, and the
 * environment variable with which Node leaves it out is refused as well.
 * @throws AddressError
 */
export function refuseUncheckedCertificates(environment: Readonly<Record<string, string | undefined>>): void {
  if (environment.NODE_TLS_REJECT_UNAUTHORIZED !== '0') return;
  throw new AddressError(
    'E-107',
    'NODE_TLS_REJECT_UNAUTHORIZED=0 would accept any certificate, and with it anybody who says to be the broker: unset ' +
      "it, and give the authority's certificate with --ca",
  );
}
