// `npm run bench:check`: short runs, and their RATIOS held against the stored ones, so that another machine gives the same
// verdict. `check.ts [--tolerance X] [PART ...]`. A ratio may be worse by the factor X (1.6 unless told otherwise: twice what
// short runs on an otherwise idle machine differ by), and is measured twice more before it counts as worse.
import { HELD, worseBy } from './aims.ts';
import { resultsStored } from './results.ts';
import { runPart } from './run-part.ts';
import type { Figure } from './tools/figures.ts';

const TRIES = 3;
/** Patience for one short run: on an idle machine it takes a fifth of that. */
const WITHIN_S = 300;

const args = process.argv.slice(2);
const given = args.indexOf('--tolerance');
const tolerance = given < 0 ? 1.6 : Number(args[given + 1]);
if (!(tolerance > 1)) {
  process.stderr.write('--tolerance: give a factor greater than 1, for example 1.6\n');
  process.exit(2);
}
const asked = args.filter((_, nth) => given < 0 || (nth !== given && nth !== given + 1));
const held = HELD.filter(({ part }) => asked.length === 0 || asked.includes(part));
const { parts } = resultsStored();

let failures = 0;
for (const one of held) {
  const stored = parts[one.part]?.figures[one.figure];
  if (stored === undefined) {
    process.stdout.write(`${one.words}: nothing is stored; run npm run bench -- ${one.part}\n`);
    failures += 1;
    continue;
  }
  let worst = Number.POSITIVE_INFINITY;
  for (let tries = 0; tries < TRIES && worst > tolerance; tries++) {
    const measured = await runPart(one.part, 'short', WITHIN_S).catch((error: Error) => error);
    if (measured instanceof Error) {
      process.stdout.write(`${one.words}: not measured, ${measured.message}\n`);
      continue;
    }
    const now = measured.figures[one.figure] as Figure;
    worst = Math.min(worst, worseBy(one, now.value, stored.value));
    process.stdout.write(
      `${one.words}: ${now.value.toPrecision(3)}, stored ${stored.value.toPrecision(3)}${worst > tolerance ? `, worse by the factor ${worst.toFixed(2)}` : ''}\n`,
    );
  }
  if (worst > tolerance) failures += 1;
}
process.stdout.write(
  failures === 0
    ? `all ratios within the factor ${tolerance} of the stored ones\n`
    : `${failures} of ${held.length} ratios worse by more than the factor ${tolerance}\n`,
);
process.exit(failures === 0 ? 0 : 1);
