// The command `listen`: what is on the broker, as a draft for the station file.
import { randomBytes } from 'node:crypto';
import type { Command } from 'commander';
import { draftOf } from '../hub/draft.ts';
import { type Listened, listen } from '../hub/listen.ts';
import { accessOf, addBrokerOptions, type BrokerGiven } from './broker-options.ts';
import { duration } from './values.ts';

interface Given extends BrokerGiven {
  readonly for: number;
  readonly under?: string;
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
    );
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
The draft is JSON on standard output, to be put under "sensors" of a station file; what it could not tell is said on
standard error. It is a draft: it knows neither vessels nor litres, and \`vatwarden check\` refuses it until a person has
filled them in. Nothing is published. The longer it listens the more devices have spoken: a few minutes for devices that
repeat themselves, and flip each float once by hand.
Exit code 0: a draft was written; 1: nothing was heard; 2: the call can't be used; 3: the broker
refuses, or there is none.`;

async function run(given: Given): Promise<number> {
  const stop = new AbortController();
  const end = () => stop.abort();
  for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, end);
  const access = accessOf(given, `vatwarden-listen-${randomBytes(3).toString('hex')}`);
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
