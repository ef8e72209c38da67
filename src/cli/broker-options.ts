// What every command that connects to a broker is told, and where the files with secrets are read.
import { type Command, Option } from 'commander';
import { readAddress, refuseUncheckedCertificates } from '../bridge/broker-address.ts';
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

export function firstLine(bytes: Buffer): string {
  return bytes.toString('utf8').split(/\r?\n/u)[0] ?? '';
}
