// The files that a broker and its clients need for the accounts of one station. Passwords are drawn once and kept: running
// it again after a change of the station file changes nothing for who was there before.
import { chmodSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { unwritable } from '../errors/coded.ts';
import type { Account } from './accounts.ts';
import { aclOf, newPassword, passwordLine } from './mosquitto.ts';

export interface WrittenAccounts {
  readonly added: readonly string[];
  readonly kept: readonly string[];
  /** Secrets of accounts that the station has no more; the broker does not know them any longer. */
  readonly orphaned: readonly string[];
}

/** `acl` and `passwords` for the broker, and in `secrets/` one file a client, for `--password-file`. @throws Coded */
export function writeAccounts(
  directory: string,
  accounts: readonly Account[],
  station: string,
): WrittenAccounts {
  try {
    return written(directory, accounts, station);
  } catch (error) {
    throw unwritable('the folder of accounts', directory, error);
  }
}

function written(directory: string, accounts: readonly Account[], station: string): WrittenAccounts {
  const secrets = join(directory, 'secrets');
  mkdirSync(secrets, { recursive: true, mode: 0o700 });
  const before = new Set(readdirSync(secrets));
  const passwords = accounts.map(({ name }) => {
    const file = join(secrets, name);
    if (!before.has(name)) writeFileSync(file, `${newPassword()}\n`, { mode: 0o600 });
    return passwordLine(name, firstLine(file));
  });
  writeFileSync(join(directory, 'acl'), aclOf(accounts, station));
  writeFileSync(join(directory, 'passwords'), `${passwords.join('\n')}\n`, { mode: 0o600 });
  chmodSync(join(directory, 'passwords'), 0o600);
  const names = accounts.map(({ name }) => name);
  return {
    added: names.filter((name) => !before.has(name)),
    kept: names.filter((name) => before.has(name)),
    orphaned: [...before].filter((name) => !names.includes(name)).toSorted(),
  };
}

function firstLine(file: string): string {
  return readFileSync(file, 'utf8').split(/\r?\n/u)[0] ?? '';
}
