// `prove`: explores everything that the real core can do on a coarse copy of the station.
import { type Command, InvalidArgumentError } from 'commander';
import type { Plant } from '../station/plant.ts';
import { guardProofOf } from '../verify/prove/guard-proof.ts';
import { guardText } from '../verify/prove/guard-report.ts';
import { necessityOf } from '../verify/prove/necessity.ts';
import { needText } from '../verify/prove/need-report.ts';
import { MOST_PAIR, proofOf } from '../verify/prove/proof.ts';
import { proofText } from '../verify/prove/report.ts';
import { plantIn } from './files.ts';
import { progress } from './progress.ts';
import { wholeNumber } from './values.ts';

interface Given {
  readonly guard?: true;
  readonly rows?: true;
  readonly part?: ReturnType<typeof partIn>;
  readonly pairs?: true;
  readonly fine?: true;
  readonly only?: string;
  readonly places?: number;
  readonly workers?: number;
  readonly json?: true;
}

export function addProve(program: Command): void {
  program
    .command('prove')
    .summary('Explores everything that the core can do under each single fault')
    .description(
      'Explores, breadth first, everything that the real core can do on a coarse copy of the station, with every single ' +
        'fault of the catalogue begun and mended at every moment. Takes minutes. Prints what was looked at, what held, what only ' +
        'hardware can hold (the gaps that `check` names), the shortest way to whatever else went wrong, and what all this does ' +
        'not say.',
    )
    .argument('<file>', 'the station file')
    .option('--guard', 'the guard alone, against a process that wants anything at any tick')
    .option('--part <n/of>', 'with --guard: of so many parts of the faults this one, for example 1/8', partIn)
    .option('--rows', 'which rows are needed: by the accidents that come when rows are out')
    .option('--pairs', 'also two faults at once, within the neighbourhood of each route, to a printed depth')
    .option('--fine', 'the core takes each tick in four steps, and hears sensors in between; takes longer')
    .option(
      '--only <text>',
      'only faults whose name contains this, for example stuck-on:; with --rows only this kind of row',
    )
    .option('--places <n>', `the most places to look at under one pair; default ${MOST_PAIR}`, wholeNumber(1))
    .option('--workers <n>', 'default: one for each processor', wholeNumber(1))
    .option('--json', 'print the result as JSON')
    .addHelpText(
      'after',
      `
Examples:
  $ vatwarden prove station.json --only stuck-on:inlet-valve
  $ vatwarden prove station.json --guard --only siphon:supply
Exit code 0: all held, or hardware would; 1: it did not; 2: the call or the file can't be used.`,
    )
    .action(async (file: string, given: Given) => {
      process.exitCode = await prove(file, given);
    });
}

async function prove(file: string, given: Given): Promise<number> {
  const { pairs, fine, only, places, workers, json } = given;
  const plant = plantIn(file);
  if (given.guard === true) return proveGuard(plant, given);
  if (given.rows === true) return proveRows(plant, given);
  const beganMs = performance.now();
  const show = progress('faults');
  const proof = await proofOf(plant, {
    pairs: pairs === true,
    fine: fine === true,
    ...(only === undefined ? {} : { only }),
    ...(places === undefined ? {} : { mostPair: places }),
    ...(workers === undefined ? {} : { workers }),
    onRun: ({ defects }, done, all) => show(done, all, defects.join(' + ')),
  });
  process.stdout.write(
    json === true
      ? `${JSON.stringify(proof)}\n`
      : proofText(plant, proof, (performance.now() - beganMs) / 1000),
  );
  return proof.open.length === 0 ? 0 : 1;
}

/** `1/8`: the first of eight. */
function partIn(text: string): { readonly at: number; readonly of: number } {
  const [, at, of] = /^(\d+)\/(\d+)$/u.exec(text) ?? [];
  const part = { at: Number(at) - 1, of: Number(of) };
  if (!(part.at >= 0 && part.at < part.of))
    throw new InvalidArgumentError(`'${text}' is no part: write 1/8 for the first of eight`);
  return part;
}

async function proveGuard(plant: Plant, { only, workers, json, part }: Given): Promise<number> {
  const beganMs = performance.now();
  const show = progress('parts');
  const proof = await guardProofOf(plant, {
    ...(only === undefined ? {} : { only }),
    ...(part === undefined ? {} : { part }),
    ...(workers === undefined ? {} : { workers }),
    onRun: (name, done, all) => show(done, all, name),
  });
  const seconds = (performance.now() - beganMs) / 1000;
  process.stdout.write(json === true ? `${JSON.stringify(proof)}\n` : guardText(plant, proof, seconds));
  return proof.open.length === 0 ? 0 : 1;
}

async function proveRows(plant: Plant, { only, workers, json }: Given): Promise<number> {
  const beganMs = performance.now();
  const show = progress('parts');
  const { needs, accidents } = await necessityOf(plant, {
    ...(only === undefined ? {} : { kinds: [only] }),
    ...(workers === undefined ? {} : { workers }),
    onJob: (about, done, all) => show(done, all, about),
  });
  const seconds = (performance.now() - beganMs) / 1000;
  process.stdout.write(
    json === true ? `${JSON.stringify({ needs, accidents })}\n` : needText(plant, needs, seconds),
  );
  return 0;
}
