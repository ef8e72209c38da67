// `npm run bench`: every part, one after the other, each in its own process and bounded in time; what a part measured is
// stored at once, and a part that fails leaves what is stored of it. `npm run bench -- PART ...`: these parts alone.
import { writePage } from './page.ts';
import { busyNow, machineName, resultsStored, store, today } from './results.ts';
import { runPart } from './run-part.ts';

/** Each with the most seconds that it may take. */
const PARTS: Readonly<Record<string, number>> = {
  core: 180,
  journal: 120,
  reaction: 240,
  pipeline: 150,
  trial: 300,
  prove: 150,
  many: 300,
  footprint: 90,
  growth: 420,
};

/** Only where they are named: they are there to last. */
const ENDURANCE: Readonly<Record<string, number>> = { soak: 5_400, load: 1_800 };

const all = { ...PARTS, ...ENDURANCE };
const asked = process.argv.slice(2);
const unknown = asked.filter((part) => !Object.hasOwn(all, part));
if (unknown.length > 0) {
  process.stderr.write(`there is no part ${unknown.join(', ')}; there are ${Object.keys(all).join(', ')}\n`);
  process.exit(2);
}
for (const signal of ['SIGTERM', 'SIGINT'] as const) process.once(signal, () => process.exit(1));

let failures = 0;
for (const part of asked.length > 0 ? asked : Object.keys(PARTS)) {
  const [busy, fromMs] = [busyNow(), performance.now()];
  process.stdout.write(`${part} ...\n`);
  try {
    const measured = await runPart(part, 'whole', all[part] as number);
    const tookS = Math.round((performance.now() - fromMs) / 1_000);
    const result = { ...measured, day: today(), machine: machineName(), tookS, busy };
    const { parts, failed } = resultsStored();
    const { [part]: _, ...others } = failed;
    store({ parts: { ...parts, [part]: result }, failed: others });
    for (const [name, { value, least, most, unit }] of Object.entries(measured.figures))
      process.stdout.write(
        `  ${name.padEnd(30)} ${value.toPrecision(5)} ${unit} [${least.toPrecision(4)} .. ${most.toPrecision(4)}]\n`,
      );
    process.stdout.write(`  took ${tookS} s\n`);
  } catch (error) {
    failures += 1;
    const words = error instanceof Error ? error.message : String(error);
    const { parts, failed } = resultsStored();
    store({ parts, failed: { ...failed, [part]: { day: today(), words } } });
    process.stdout.write(`  FAILED: ${words}\n`);
  }
  writePage(resultsStored());
}
process.exit(failures === 0 ? 0 : 1);
