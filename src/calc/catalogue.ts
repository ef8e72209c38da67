// Every quantity the calculator knows, by the name it is asked for.
import type { Entry } from './entry.ts';
import { EXCHANGE } from './exchange.ts';
import { HEAT } from './heat.ts';
import { PIPES } from './pipes.ts';
import { PUMPS } from './pumps.ts';
import { PURIFICATION } from './purification.ts';
import { SALTING } from './salting.ts';
import { SEAWATER } from './seawater.ts';
import { VESSELS } from './vessels.ts';

/** The subjects in the order of the work: water, salt, purifier, pipes, pumps, heat, exchange, vessels. */
export const SUBJECTS: Readonly<Record<string, Readonly<Record<string, Entry>>>> = {
  Seawater: SEAWATER,
  Salting: SALTING,
  Purification: PURIFICATION,
  Pipes: PIPES,
  Pumps: PUMPS,
  Heat: HEAT,
  Exchange: EXCHANGE,
  Vessels: VESSELS,
};

export const CATALOGUE: ReadonlyMap<string, Entry> = new Map(
  Object.values(SUBJECTS).flatMap((subject) => Object.entries(subject)),
);
