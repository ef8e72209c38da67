// `simulate`: the water alone, as a process of its own.
import { type Command, Option } from 'commander';
import { FAULT_KINDS } from '../simulate/fault-kinds.ts';
import { ledgerText } from '../simulate/ledger.ts';
import { startWater, type Water, type WaterOptions, type WaterResult } from '../simulate/station-water.ts';
import { type StationIn, stationIn } from './files.ts';
import { addPartiesOptions, type PartiesGiven, waysIn } from './parties.ts';
import { collected, duration, wholeNumber } from './values.ts';

interface Given extends PartiesGiven {
  readonly broker: string;
  readonly realtime?: true;
  readonly seed: number;
  readonly fault: readonly string[];
  readonly for?: number;
  readonly step: number;
  readonly mqtt: '5' | '3.1.1';
  readonly json?: true;
}

/** The longest run that is asked for by name: beyond it somebody has mistyped a unit. */
const LONGEST = '366 d';

export function addSimulate(program: Command): void {
  const command = program
    .command('simulate')
    .summary('Stands in for the water, the devices and a person of a station')
    .description(
      "Stands in for a station's water, its sensors and relays on their real topics, and the person who pours the salt. " +
        'Ends by itself and prints what the water really did.',
    )
    .argument('<file>', 'the station file')
    .requiredOption('--broker <url>', 'for example mqtt://127.0.0.1:1883')
    .option('--realtime', 'follow the wall clock; without it the service sets the pace (`run --time topic`)')
    .option('--seed <n>', 'same seed, same day', wholeNumber(), 1)
    .option(
      '--fault <spec>',
      'KIND:WHAT[=VALUE]@FROM[-TO] in station time, any number of times',
      collected,
      [],
    )
    .option('--for <duration>', 'how much station time: 24 h, with --realtime 1 h', duration(LONGEST))
    .option('--step <duration>', 'how much station time passes in one step', duration(LONGEST), 5000)
    .addOption(
      new Option('--mqtt <version>', 'never falls back by itself').choices(['5', '3.1.1']).default('5'),
    )
    .option('--json', 'print the verdict as JSON');
  addPartiesOptions(command)
    .addHelpText('after', HELP)
    .action(async (file: string, given: Given) => {
      process.exitCode = await simulate(file, given);
    });
}

const HELP = `
Examples:
  $ vatwarden simulate station.json --broker mqtt://127.0.0.1:1883 --realtime --for '5 s'
  $ vatwarden simulate station.json --broker mqtt://127.0.0.1:1883 --realtime --for '5 s' --fault stuck-on:inlet-valve@2s
Beside it, \`vatwarden run station.json --broker mqtt://127.0.0.1:1883\` is the service that it plays for.
Kinds of fault:
${faultKinds()}
Exit code 0: the water came to no harm; 1: it did; 2: the call or a file can't be used; 3: no broker.`;

async function simulate(file: string, given: Given): Promise<number> {
  const water = startWater(optionsOf(stationIn(file), given));
  const verdict = await stopsOnSignal(water);
  process.stdout.write(given.json === true ? `${JSON.stringify(verdict)}\n` : ledgerText(verdict));
  return verdict.ok ? 0 : 1;
}

/** The first signal ends the day and prints the ledger; a second is for those who do not want to wait for it. */
async function stopsOnSignal({ done, stop }: Water): Promise<WaterResult> {
  const signals = ['SIGINT', 'SIGTERM'] as const;
  for (const signal of signals) process.once(signal, stop);
  try {
    return await done;
  } finally {
    for (const signal of signals) process.removeListener(signal, stop);
  }
}

function optionsOf({ plant, station }: StationIn, given: Given): WaterOptions {
  const { broker, seed, fault, realtime, step, mqtt } = given;
  const pace = realtime === true ? 'real-time' : 'lock-step';
  const { water: access } = waysIn(given, plant, station);
  const options: WaterOptions = { plant, broker, access, seed, faults: fault, pace, stepMs: step, mqtt };
  return given.for === undefined ? options : { ...options, forMs: given.for };
}

function faultKinds(): string {
  return Object.entries(FAULT_KINDS)
    .map(
      ([kind, { of, value, words }]) =>
        `  ${`${kind}:${of.join('|')}${value === 'none' ? '' : '=...'}`.padEnd(34)}  ${words}`,
    )
    .join('\n');
}
