// How `demo` and `simulate` get into a broker that lets in accounts only: as one account for everything, or, with the folder
// that `wire --accounts` wrote, every party of the station as itself.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import { readAddress, refuseUncheckedCertificates } from '../bridge/broker-address.ts';
import { Coded, unreadable } from '../errors/coded.ts';
import { accountsOf, clockAccount, narratorAccount } from '../hub/accounts.ts';
import { wiringOf } from '../hub/catalogue.ts';
import type { Access, Party } from '../simulate/connections.ts';
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import { firstLine } from './broker-options.ts';
import { readBytes } from './files.ts';

export interface PartiesGiven {
  readonly broker?: string;
  readonly username?: string;
  readonly passwordFile?: string;
  readonly ca?: string;
  readonly accounts?: string;
}

export interface Login {
  readonly username?: string;
  readonly password?: string;
  readonly ca?: Buffer;
}

/** Each a connection of its own: no two may share an account where the client id is the account's name. */
export interface WaysIn {
  readonly service: Login;
  readonly narrator: Login;
  readonly water: Access;
}

export function addPartiesOptions(command: Command): Command {
  return command
    .option('--username <name>', 'one account for everything')
    .option('--password-file <file>', 'a file with its password in its first line')
    .option('--ca <file>', "the authority that signed the broker's certificate, PEM")
    .option(
      '--accounts <directory>',
      'every device, the person and the service as themselves: what `wire --accounts DIRECTORY --simulated` wrote',
    );
}

/** @throws Coded with the mend. */
export function waysIn(given: PartiesGiven, plant: Plant, station: Pick<StationFile, 'announce'>): WaysIn {
  refuseUncheckedCertificates(process.env);
  const { broker, username, passwordFile, ca: caFile, accounts } = given;
  if (broker === undefined && (username ?? passwordFile ?? caFile ?? accounts) !== undefined)
    throw new Coded('E-105', '--username, --password-file, --ca and --accounts belong to a given --broker');
  if (passwordFile !== undefined && username === undefined)
    throw new Coded('E-105', '--password-file needs --username: a password belongs to somebody');
  if (accounts !== undefined && username !== undefined)
    throw new Coded(
      'E-105',
      'give --accounts or --username: with --accounts everybody has a name of their own',
    );
  const protocol = broker === undefined ? '' : readAddress(broker).protocol;
  if (caFile !== undefined && !protocol.endsWith('s') && protocol !== '')
    throw new Coded('E-105', `--ca needs a broker with TLS: ${protocol}s:// instead of ${protocol}://`);
  const ca = caFile === undefined ? {} : { ca: readBytes('the file of --ca', caFile) };
  if (accounts === undefined) {
    const password =
      passwordFile === undefined
        ? {}
        : { password: firstLine(readBytes('the file of --password-file', passwordFile)) };
    const one = { ...ca, ...(username === undefined ? {} : { username }), ...password };
    return { service: one, narrator: one, water: one };
  }
  const loginOf = (name: string): Login => ({ ...ca, username: name, password: secretOf(accounts, name) });
  return {
    get service() {
      return loginOf(`vatwarden-${plant.id}`);
    },
    get narrator() {
      return loginOf(narratorAccount(plant.id));
    },
    water: { ...ca, parties: partiesIn(accounts, plant, station) },
  };
}

/** The devices, the person, and whoever sets the clock, if there is one. */
function partiesIn(
  directory: string,
  plant: Plant,
  station: Pick<StationFile, 'announce'>,
): readonly Party[] {
  const notTheirs = [`vatwarden-${plant.id}`, `vatwarden-${plant.id}-homie`, narratorAccount(plant.id)];
  const onlookers = [`${plant.id}-hub`, `${plant.id}-watcher`];
  return accountsOf(wiringOf(plant, station), true)
    .filter(({ name }) => ![...notTheirs, ...onlookers].includes(name))
    .flatMap(({ name, reads, writes }): readonly Party[] => {
      // Real time needs no clock, and a real station's accounts have none.
      if (name === clockAccount(plant.id) && !isThere(directory, name)) return [];
      return [{ username: name, password: secretOf(directory, name), reads, writes }];
    });
}

function isThere(directory: string, name: string): boolean {
  try {
    return readFileSync(join(directory, 'secrets', name)).length > 0;
  } catch {
    return false;
  }
}

function secretOf(directory: string, name: string): string {
  try {
    return firstLine(readFileSync(join(directory, 'secrets', name)));
  } catch (error) {
    throw new Coded(
      'E-201',
      `${unreadable(`the secret of ${name}`, join(directory, 'secrets', name), error).message}; write the accounts with \`vatwarden wire FILE --accounts ${directory} --simulated\``,
    );
  }
}
