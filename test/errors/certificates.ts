// Certificates for brokers that are wrong in one way each, made when they are needed.
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

export interface Pair {
  readonly key: Buffer;
  readonly cert: Buffer;
}

export interface Wanted {
  /** For which host. */
  readonly host?: string;
  /** Negative: it has expired. */
  readonly days?: number;
}

/** @param directory takes `NAME.key` and `NAME.crt`, signed by themselves, so that each is its own authority */
export function certificateIn(
  directory: string,
  name: string,
  { host = 'localhost', days = 2 }: Wanted,
): Pair {
  const openssl = (...args: readonly string[]) => {
    const { status, stderr } = spawnSync('openssl', args, { cwd: directory, encoding: 'utf8' });
    if (status !== 0) throw new Error(stderr);
  };
  const key = [
    '-newkey',
    'ec',
    '-pkeyopt',
    'ec_paramgen_curve:prime256v1',
    '-nodes',
    '-keyout',
    `${name}.key`,
  ];
  const forHost = ['-subj', '/CN=broker', '-addext', `subjectAltName=DNS:${host}`];
  openssl('req', '-new', ...key, ...forHost, '-out', `${name}.csr`);
  const signed = ['-signkey', `${name}.key`, '-days', String(days), '-copy_extensions', 'copy'];
  openssl('x509', '-req', '-in', `${name}.csr`, ...signed, '-out', `${name}.crt`);
  return {
    key: readFileSync(join(directory, `${name}.key`)),
    cert: readFileSync(join(directory, `${name}.crt`)),
  };
}
