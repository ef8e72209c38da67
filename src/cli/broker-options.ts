// What every command that connects to a broker is told, and where the files with secrets are read.
import { type Command, Option } from 'commander';
import { readAddress, refuseUncheckedCertificates } from '../bridge/broker-address.ts';
import type { Settings } from '../bridge/packets.ts';
import { Coded } from '../errors/coded.ts';
import type { BrokerAccess } from '../hub/connection.ts';
import { readBytes } from './files.ts';

export interface BrokerGiven {
  readonly broker: string;
  readonly mqtt: '5' | '3.1.1';
  readonly username?: string;
  readonly passwordFile?: string;
  readonly ca?: string;
}

export function addBrokerOptions(command: Command): Command {
  return command
    .requiredOption('--broker <url>', 'mqtt://HOST:PORT, mqtts://, ws:// or wss://')
    .addOption(
      new Option('--mqtt <version>', 'never falls back by itself').choices(['5', '3.1.1']).default('5'),
    )
    .option('--username <name>', 'who the broker knows this client as')
    .option('--password-file <file>', 'a file with the password in its first line')
    .option('--ca <file>', "the authority that signed the broker's certificate, PEM");
}

/** @throws Coded with the mend. */
export function accessOf(given: BrokerGiven, clientId: string): BrokerAccess {
  refuseUncheckedCertificates(process.env);
  readAddress(given.broker);
  const { username, passwordFile, ca } = given;
  return {
    url: given.broker,
    version: given.mqtt === '5' ? 5 : 4,
    clientId,
    ...(username === undefined ? {} : { username }),
    ...(passwordFile === undefined
      ? {}
      : { password: firstLine(readBytes('the file of --password-file', passwordFile)) }),
    ...(ca === undefined ? {} : { ca: readBytes('the file of --ca', ca) }),
  };
}

/** Of the service itself, which may also have a certificate of its own. @throws Coded with the mend. */
export function settingsOf(
  stationId: string,
  given: BrokerGiven & { readonly cert?: string; readonly key?: string },
): Settings {
  const { username, passwordFile, ca, cert, key } = given;
  if (passwordFile !== undefined && username === undefined) {
    throw new Coded('E-105', '--password-file needs --username: a password belongs to somebody');
  }
  const address = readAddress(given.broker);
  const plain = address.protocol === 'mqtt' || address.protocol === 'ws';
  if (plain && (ca ?? cert ?? key) !== undefined) {
    throw new Coded(
      'E-105',
      `--ca, --cert and --key need a broker with TLS: ${address.protocol}s:// instead of ${address.protocol}://`,
    );
  }
  if ((cert === undefined) !== (key === undefined)) {
    throw new Coded('E-105', '--cert and --key belong together: give both or neither');
  }
  return {
    address,
    version: given.mqtt === '5' ? 5 : 4,
    clientId: `vatwarden-${stationId}`,
    ...(username === undefined ? {} : { username }),
    ...(passwordFile === undefined
      ? {}
      : { password: firstLine(readBytes('the file of --password-file', passwordFile)) }),
    ...(ca === undefined ? {} : { ca: readBytes('the file of --ca', ca) }),
    ...(cert === undefined ? {} : { cert: readBytes('the file of --cert', cert) }),
    ...(key === undefined ? {} : { key: readBytes('the file of --key', key) }),
  };
}

export function firstLine(bytes: Buffer): string {
  return bytes.toString('utf8').split(/\r?\n/u)[0] ?? '';
}
