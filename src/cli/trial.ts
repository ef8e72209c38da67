// `trial`: nights under faults, judged by others than the core.
import type { Command } from 'commander';
import { FAULT_KINDS } from '../simulate/fault-kinds.ts';
import type { Plant } from '../station/plant.ts';
import { MISFORTUNES, parseTrouble } from '../verify/trial/misfortunes.ts';
import { nightsOf } from '../verify/trial/nights.ts';
import { type Campaign, campaignOf, campaignText } from '../verify/trial/report.ts';
import { savesOf } from '../verify/trial/saves.ts';
import { savesText } from '../verify/trial/saves-report.ts';
import { plantIn } from './files.ts';
import { progress } from './progress.ts';
import { collected, wholeNumber } from './values.ts';

interface Given {
  readonly seeds: number;
  readonly seed: number;
  readonly fault: readonly string[];
  readonly faults: boolean;
  readonly workers?: number;
  readonly hostile?: true;
  readonly json?: true;
}

export function addTrial(program: Command): void {
  program
    .command('trial')
    .summary('Runs nights under faults, and judges them')
    .description(
      'Runs nights of the station in memory, each with faults drawn from its seed; then the faults stop, a person comes, and ' +
        'a batch must be delivered. Judges that share no code with the core look at the water, the pumps and the commands.',
    )
    .argument('<file>', 'the station file')
    .option('--seeds <n>', 'how many nights', wholeNumber(1), 100)
    .option('--seed <n>', 'the first night', wholeNumber(), 1)
    .option(
      '--fault <spec>',
      'KIND:WHAT[=VALUE]@FROM[-TO], any number: these instead of drawn ones',
      collected,
      [],
    )
    .option('--no-faults', 'nights without faults')
    .option(
      '--hostile',
      'the guard alone, below a process that wants at random; which rows held it, and which of them saved the water',
    )
    .option('--workers <n>', 'default: one for each processor', wholeNumber(1))
    .option('--json', 'print the result as JSON')
    .addHelpText(
      'after',
      `
Examples:
  $ vatwarden trial station.json --seeds 2
  $ vatwarden trial station.json --seeds 1 --seed 7 --fault stuck-on:inlet-valve@2h-5h
Kinds of fault: ${[...Object.keys(FAULT_KINDS), ...Object.keys(MISFORTUNES)].join(', ')}
Exit code 0: all held, or hardware would; 1: something did not; 2: the call or the file can't be used.`,
    )
    .action(async (file: string, given: Given) => {
      process.exitCode = await trial(file, given);
    });
}

async function trial(file: string, given: Given): Promise<number> {
  if (given.hostile === true) return trialOfGuard(plantIn(file), given);
  const campaign = await run(file, plantIn(file), given);
  process.stdout.write(given.json === true ? `${JSON.stringify(campaign)}\n` : campaignText(campaign));
  return campaign.failures.length === 0 ? 0 : 1;
}

async function trialOfGuard(plant: Plant, given: Given): Promise<number> {
  const { seeds, seed, workers, json } = given;
  const troubles = given.fault.map((spec) => parseTrouble(spec, plant));
  const show = progress('nights');
  const beganMs = performance.now();
  const saves = await savesOf(plant, {
    seeds,
    seed,
    ...(troubles.length > 0 || !given.faults ? { troubles } : {}),
    ...(workers === undefined ? {} : { workers }),
    onNight: (night, done) => show(done, seeds, `night ${night.seed}`),
  });
  const seconds = (performance.now() - beganMs) / 1000;
  process.stdout.write(json === true ? `${JSON.stringify(saves)}\n` : savesText(plant, saves, seconds));
  return saves.harms.length === 0 ? 0 : 1;
}

async function run(
  file: string,
  plant: Plant,
  { seeds, seed, fault, faults, workers }: Given,
): Promise<Campaign> {
  const show = progress('nights');
  const troubles = fault.map((spec) => parseTrouble(spec, plant));
  const reports = await nightsOf(plant, {
    seeds,
    seed,
    ...(troubles.length > 0 || !faults ? { troubles } : {}),
    ...(workers === undefined ? {} : { workers }),
    onNight: (report, done) => show(done, seeds, `night ${report.seed}`),
  });
  return campaignOf(file, plant, reports);
}
