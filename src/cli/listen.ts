// The command `listen`: what is on the broker, as a draft for the station file.
import { randomBytes } from 'node:crypto';
import type { Command } from 'commander';
import { Coded } from '../errors/coded.ts';
import { draftOf } from '../hub/draft.ts';
import { type Listened, listen } from '../hub/listen.ts';
import { accessOf, addBrokerOptions, type BrokerGiven } from './broker-options.ts';
import { guide } from './guided.ts';
import { duration } from './values.ts';

interface Given extends BrokerGiven {
  readonly for: number;
  readonly under?: string;
  readonly station?: string;
  readonly guided?: true;
}

/** Adds `listen` to the program. */
export function addListen(program: Command): void {
  const command = program
    .command('listen')
    .description('Listens to a broker for a while and drafts sensor entries for the topics that it heard')
    .option('--for <duration>', 'how long: 60 s, 10 min', duration('24 h'), 60_000)
    .option(
      '--under <prefix>',
      'only topics below this one; without it, all that the broker lets this user read',
    )
    .option('--guided', 'says what to move, and learns the station from what changes; with --station')
    .option('--station <file>', 'with --guided: the station file to be made, or gone on with');
  addBrokerOptions(command)
    .addHelpText('after', HELP)
    .action(async (given: Given) => {
      process.exitCode = await run(given);
    });
}

const HELP = `
Examples:
  $ vatwarden listen --broker mqtt://127.0.0.1:1883 --for '2 s' > sensors.json
  $ vatwarden listen --broker mqtt://127.0.0.1:1883 --for '2 s' --under house/cellar
  $ vatwarden listen --broker mqtt://127.0.0.1:1883 --guided --station my-station.json < /dev/null
The draft is JSON on standard output, to be put under "sensors" of a station file; what it could not tell is said on
standard error. It is a draft: it knows neither vessels nor litres, and \`vatwarden check\` refuses it until a person has
filled them in. Nothing is published, with --guided neither: it says "lift the high float of the fresh vat now" and learns topic, words,
period and vessel from what changes; litres, and what else nobody can hear, is typed. The file is written after every
answer, and a call with the same file goes on where the last one ended. The longer it listens the more devices have spoken: a few minutes for devices that
repeat themselves, and flip each float once by hand.
Exit code 0: a draft was written, with --guided one that \`check\` accepts; 1: nothing was heard, or it is not whole yet; 2: the call can't be used; 3: the broker
refuses, or there is none.`;

async function run(given: Given): Promise<number> {
  const stop = new AbortController();
  const end = () => stop.abort();
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, end);
  if ((given.guided === true) !== (given.station !== undefined))
    throw new Coded('E-105', '--guided and --station FILE belong together: give both or neither');
  const access = accessOf(given, `vatwarden-listen-${randomBytes(3).toString('hex')}`);
  const { station } = given;
  if (station !== undefined) return guide({ access, under: given.under ?? null, station, stop: stop.signal });
  return tell(await listen({ access, under: given.under ?? null, forMs: given.for, stop: stop.signal }));
}

function tell({ heard, leftOut }: Listened): number {
  const { sensors, actuators, remarks } = draftOf(heard);
  const count = Object.keys(sensors).length;
  process.stdout.write(
    `${JSON.stringify(Object.keys(actuators).length === 0 ? { sensors } : { sensors, actuators }, null, 2)}\n`,
  );
  for (const remark of remarks) process.stderr.write(`${remark}\n`);
  if (leftOut > 0)
    process.stderr.write(`${leftOut} messages on further topics were not looked at: give --under\n`);
  process.stderr.write(`${heard.length} topics, ${count} sensors drafted: check each of them\n`);
  return heard.length === 0 ? 1 : 0;
}
