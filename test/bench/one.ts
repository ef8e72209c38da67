// One part, in a process of its own: `one.ts PART SIZE OUT`. See bench.ts.
import { writeFileSync } from 'node:fs';
import type { Part, Size } from './tools/figures.ts';

const [part = '', size = 'whole', out = ''] = process.argv.slice(2);
// What a part has started goes with it, whoever ends it.
for (const signal of ['SIGTERM', 'SIGINT'] as const) process.once(signal, () => process.exit(1));
const { measure } = (await import(`./parts/${part}.ts`)) as { measure: Part };
writeFileSync(out, JSON.stringify(await measure(size as Size)));
process.exit(0);
