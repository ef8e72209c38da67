// The command `wire`: what a station says and hears, printed for people, brokers and programs.
import { type Command, InvalidArgumentError } from 'commander';
import { describe } from '../control/process/describe.ts';
import { initial } from '../control/process/initial.ts';
import { writeAccounts } from '../hub/account-files.ts';
import { type Account, accountsOf } from '../hub/accounts.ts';
import { asyncapiOf } from '../hub/asyncapi.ts';
import { type Wiring, wiringOf } from '../hub/catalogue.ts';
import { deviceSettings, settingsLines } from '../hub/device-settings.ts';
import { aclOf } from '../hub/mosquitto.ts';
import { listLines, messageLine, startMessages } from '../hub/printed.ts';
import { centralAcl, uplinkConfig } from '../hub/uplink.ts';
import { englishOf } from '../language/english.ts';
import { told } from '../language/told.ts';
import type { StationFile } from '../station/file/station.ts';
import type { Plant } from '../station/plant.ts';
import { stationIn } from './files.ts';

interface Given {
  readonly list?: true;
  readonly dry?: true;
  readonly devices?: true;
  readonly asyncapi?: true;
  readonly broker?: string;
  readonly acl?: true;
  readonly accounts?: string;
  readonly uplink?: { readonly host: string; readonly port: number };
  readonly central?: true;
  readonly requests?: true;
  readonly simulated?: true;
  readonly ca: string;
}

/** Adds `wire` to the program. */
export function addWire(program: Command): void {
  program
    .command('wire')
    .description('Prints what a station says and hears on MQTT: topics, documents, access lists')
    .argument('<file>', 'the station file')
    .option('--list', 'every property, every placeholder, every topic (default)')
    .option('--dry', 'what the Homie side would publish at its start, and the messages for other hubs')
    .option('--devices', 'what goes into the devices of the file, with its leases filled in')
    .option('--asyncapi', 'all topics as an AsyncAPI 3 document')
    .option('--broker <url>', 'with --asyncapi: the broker to name in it')
    .option('--acl', 'the access list for mosquitto, with the least that each party needs')
    .option('--accounts <directory>', 'write access list, password file and a secret for each account there')
    .option(
      '--simulated',
      'with --acl and --accounts: also what a simulated water needs to set the clock; never at a real station',
    )
    .option(
      '--uplink <host:port>',
      "lines for the site's mosquitto.conf: everything up to a central broker",
      hostAndPort,
    )
    .option('--central', 'lines for the access list of the central broker')
    .option('--requests', 'with --uplink and --central: let requests come down and answers go up')
    .option(
      '--ca <file>',
      "with --uplink: where the site keeps the certificate of the centre's authority",
      '/mosquitto/certs/central-ca.crt',
    )
    .addHelpText(
      'after',
      "\nExamples:\n  $ vatwarden wire station.json\n  $ vatwarden wire station.json --devices\n  $ vatwarden wire station.json --asyncapi > asyncapi.json\n  $ vatwarden wire station.json --accounts broker\n  $ vatwarden wire station.json --uplink central.example:8883\nSeveral at once are printed each under a heading; one alone is as a file wants it.\nExit code 0: printed; 2: the call or the station file can't be used.",
    )
    .action((file: string, given: Given) => {
      const { plant, station } = stationIn(file);
      process.stdout.write(printed(wiringOf(plant, station), station, given));
    });
}

/** One thing as it is, for a file; several, each under its heading, in the order of the help. */
function printed(wiring: Wiring, station: StationFile, given: Given): string {
  const { plant } = wiring;
  const letsRequestsIn = given.requests === true;
  const all = accountsOf(wiring, given.simulated === true);
  const { accounts: directory, uplink } = given;
  const parts: readonly (readonly [asked: boolean, heading: string, text: () => string])[] = [
    [given.list === true, 'properties, placeholders and topics', () => lines(listLines(wiring))],
    [given.dry === true, 'what the Homie side would publish', () => lines(dryLines(wiring))],
    [
      given.devices === true,
      'what goes into the devices',
      () => lines(settingsLines(deviceSettings(plant, station))),
    ],
    [
      given.asyncapi === true,
      'AsyncAPI document',
      () => `${JSON.stringify(asyncapiOf(wiring, given.broker), null, 2)}\n`,
    ],
    [given.acl === true, 'access list', () => aclOf(all, plant.id)],
    [directory !== undefined, 'accounts', () => accounts(plant.id, all, directory ?? '')],
    [uplink !== undefined, 'uplink', () => (uplink ? uplinkLines(plant, uplink, given) : '')],
    [given.central === true, 'access list of the central broker', () => centralAcl(plant, letsRequestsIn)],
  ];
  const asked = parts.filter(([isAsked]) => isAsked);
  if (asked.length === 0) return lines(listLines(wiring));
  if (asked.length === 1) return asked.map(([, , text]) => text()).join('');
  return asked.map(([, heading, text]) => `==== ${heading} ====\n${text()}`).join('\n');
}

function uplinkLines(
  plant: Plant,
  at: { readonly host: string; readonly port: number },
  given: Given,
): string {
  const passwordHint = 'PUT-THE-SECRET-OF-THIS-ACCOUNT-HERE';
  return uplinkConfig(plant, {
    ...at,
    caFile: given.ca,
    passwordHint,
    letsRequestsIn: given.requests === true,
  });
}

/** As a service that has just started: nothing is known yet, and it says so. */
function dryLines(wiring: Wiring): readonly string[] {
  const { plant } = wiring;
  const status = told(englishOf(plant), describe(plant, initial(plant)));
  return startMessages(wiring, { status, last: { result: 'none', words: '' } }).map(messageLine);
}

function accounts(station: string, all: readonly Account[], directory: string): string {
  const { added, kept, orphaned } = writeAccounts(directory, all, station);
  return lines([
    `${directory}/acl and ${directory}/passwords are for the broker, ${directory}/secrets/ACCOUNT for --password-file`,
    ...all.map(({ name, words }) => `  ${name}: ${words}`),
    `${added.length} new, ${kept.length} kept their password`,
    ...orphaned.map(
      (name) => `secrets/${name} belongs to nobody any more: the broker no longer knows it, remove the file`,
    ),
  ]);
}

const lines = (all: readonly string[]): string => `${all.join('\n')}\n`;

function hostAndPort(text: string): { host: string; port: number } {
  const match = /^(?<host>[^\s:]+|\[[0-9a-fA-F:]+\]):(?<port>\d{1,5})$/u.exec(text);
  const port = Number(match?.groups?.port);
  if (match === null || port < 1 || port > 65_535)
    throw new InvalidArgumentError('Give HOST:PORT, for example central.example:8883.');
  return { host: match.groups?.host ?? '', port };
}
