// `simulate`: the water alone, as a process of its own.
import { readFileSync } from 'node:fs';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { FAULT_KINDS } from '../simulate/faults.ts';
import { ledgerText } from '../simulate/ledger.ts';
import { startWater, type Water, type WaterOptions, type WaterResult } from '../simulate/station-water.ts';
import { loadStation } from '../station/load.ts';
import type { Plant } from '../station/plant.ts';
import { wordsOf } from '../station/problem.ts';
import type { StationFile } from '../station/station.generated.ts';
import { readQuantity, UnitError } from '../units/quantity.ts';
import { addPartiesOptions, type PartiesGiven, waysIn } from './parties.ts';

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
const LONGEST_MS = 366 * 86_400_000;

export function addSimulate(program: Command): void {
  const command = program
    .command('simulate')
    .summary('stand in for the water, the devices and a person')
    .description(
      "Stands in for a station's water, its sensors and relays on their real topics, and the person who pours the salt. " +
        'Ends by itself and prints what the water really did. Exit code 0: all was well; 1: it was not; 2: it could not run.',
    )
    .argument('<file>', 'the station file')
    .requiredOption('--broker <url>', 'for example mqtt://127.0.0.1:1883')
    .option('--realtime', 'follow the wall clock; without it the service sets the pace (`run --time topic`)')
    .option('--seed <n>', 'same seed, same day', wholeNumber, 1)
    .option(
      '--fault <spec>',
      'KIND:WHAT[=VALUE]@FROM[-TO] in station time, any number of times',
      collected,
      [],
    )
    .option('--for <duration>', 'how much station time: 24 h, with --realtime 1 h', duration)
    .option('--step <duration>', 'how much station time passes in one step', duration, 5000)
    .addOption(
      new Option('--mqtt <version>', 'never falls back by itself').choices(['5', '3.1.1']).default('5'),
    )
    .option('--json', 'print the verdict as JSON');
  addPartiesOptions(command)
    .addHelpText('after', `\nKinds of fault:\n${faultKinds()}`)
    .action(async (file: string, given: Given) => {
      process.exitCode = await simulate(file, given);
    });
}

async function simulate(file: string, given: Given): Promise<number> {
  try {
    const water = startWater(optionsOf(stationIn(file), given));
    const verdict = await stopsOnSignal(water);
    process.stdout.write(given.json === true ? `${JSON.stringify(verdict)}\n` : ledgerText(verdict));
    return verdict.ok ? 0 : 1;
  } catch (error) {
    process.stderr.write(`simulate: ${error instanceof Error ? error.message : String(error)}\n`);
    return 2;
  }
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

function optionsOf({ plant, station }: Station, given: Given): WaterOptions {
  const { broker, seed, fault, realtime, step, mqtt } = given;
  const pace = realtime === true ? 'real-time' : 'lock-step';
  const { water: access } = waysIn(given, plant, station);
  const options: WaterOptions = { plant, broker, access, seed, faults: fault, pace, stepMs: step, mqtt };
  return given.for === undefined ? options : { ...options, forMs: given.for };
}

interface Station {
  readonly plant: Plant;
  readonly station: StationFile;
}

function stationIn(file: string): Station {
  const loaded = loadStation(file, readFileSync(file, 'utf8'));
  if (!loaded.ok)
    throw new Error(`the station file can't be used:\n${loaded.errors.map(wordsOf).join('\n')}`);
  return loaded;
}

function faultKinds(): string {
  return Object.entries(FAULT_KINDS)
    .map(
      ([kind, { of, value, words }]) =>
        `  ${`${kind}:${of.join('|')}${value === 'none' ? '' : '=...'}`.padEnd(34)}  ${words}`,
    )
    .join('\n');
}

function collected(value: string, before: readonly string[]): readonly string[] {
  return [...before, value];
}

function wholeNumber(text: string): number {
  if (!/^\d{1,9}$/u.test(text)) throw new InvalidArgumentError('Give a whole number from 0 to 999999999.');
  return Number(text);
}

function duration(text: string): number {
  try {
    const ms = Math.round(readQuantity(text, 'duration'));
    if (ms < 1 || ms > LONGEST_MS) throw new InvalidArgumentError('Give between 1 ms and 366 d.');
    return ms;
  } catch (error) {
    if (error instanceof UnitError) throw new InvalidArgumentError(error.message);
    throw error;
  }
}
