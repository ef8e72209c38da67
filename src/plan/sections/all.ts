// The sections of a report, in their order. A section is a pure function of the design; null where it has nothing to say.
import type { Design } from '../design.ts';
import type { Section } from '../report.ts';
import { absence } from './absence.ts';
import { basis } from './basis.ts';
import { batch } from './batch.ts';
import { care } from './care.ts';
import { costs } from './costs.ts';
import { exchange } from './exchange.ts';
import { floor } from './floor.ts';
import { heat } from './heat.ts';
import { heights } from './heights.ts';
import { moving } from './moving.ts';
import { passage } from './passage.ts';
import { protection } from './protection.ts';
import { pumps } from './pumps.ts';
import { refill } from './refill.ts';
import { reserve } from './reserve.ts';
import { salt } from './salt.ts';
import { split } from './split.ts';
import { stand } from './stand.ts';
import { station } from './station.ts';
import { water } from './water.ts';

export const SECTIONS: readonly ((design: Design) => Section | null)[] = [
  reserve,
  split,
  refill,
  batch,
  salt,
  pumps,
  heights,
  moving,
  heat,
  exchange,
  absence,
  water,
  floor,
  passage,
  stand,
  protection,
  station,
  care,
  costs,
  basis,
];
