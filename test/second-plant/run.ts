// The second plant by hand: node --import ./test/bench/tools/typescript.mjs test/second-plant/run.ts --days 10 --seed 7
// Prints a summary as JSON. Exit code 1: harm, a broken promise, or an alarm that no fault explains; 2: the call is wrong.
import { parseArgs } from 'node:util';
import { KINDS, ORDINARY, TROUBLES } from './faults.ts';
import { HABITS, habitsWithout } from './habits.ts';
import { secondPlant } from './plant.ts';

const { values } = parseArgs({
  options: {
    days: { type: 'string', default: '10' },
    seed: { type: 'string', default: '7' },
    without: { type: 'string', default: '' },
    fault: { type: 'string', multiple: true, default: [] },
    'all-quiet': { type: 'boolean', default: false },
    troubled: { type: 'boolean', default: false },
    main: { type: 'string', default: 'dist/cli/main.js' },
    'rows-out': { type: 'string', default: '' },
    full: { type: 'boolean', default: false },
    help: { type: 'boolean', default: false },
  },
});

const lines = (table: Readonly<Record<string, string>>) =>
  Object.entries(table)
    .map(([name, words]) => `  ${name.padEnd(16)}${words}`)
    .join('\n');

if (values.help) {
  const kinds = Object.fromEntries(Object.entries(KINDS).map(([kind, { words }]) => [kind, words]));
  console.log(`--days N --seed N --without HABIT,HABIT --fault SPEC ... --all-quiet --troubled --main FILE --rows-out I-01,I-02 --full
Habits:
${lines(HABITS)}
Faults, KIND[:WHAT][=VALUE]@WHEN[/WAY][+HOW LONG]; without --all-quiet also the outages of ten days:
${lines(kinds)}`);
} else {
  const listed = (text: string) => text.split(',').filter((name) => name !== '');
  const usual = values['all-quiet'] ? [] : ORDINARY;
  const faults = [...usual, ...(values.troubled ? TROUBLES : []), ...values.fault];
  const summary = await secondPlant({
    days: Number(values.days),
    seed: Number(values.seed),
    habits: habitsWithout(listed(values.without)),
    faults,
    main: values.main,
    rowsOut: listed(values['rows-out']),
    onProgress: (hours) => process.stderr.write(`${hours.toFixed(0)} h\r`),
  });
  const { records, lines: said, ...short } = summary;
  console.log(JSON.stringify(values.full ? { ...short, records, said } : short, null, 1));
  process.exitCode = summary.ok ? 0 : 1;
}
