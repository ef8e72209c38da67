// The judges of a night.
import { againstTopOff } from './against-top-off.ts';
import { calm } from './calm.ts';
import type { Check } from './check.ts';
import { commands } from './commands.ts';
import { conserved } from './conserved.ts';
import { cycling } from './cycling.ts';
import { delivered } from './delivered.ts';
import { dry } from './dry.ts';
import { flood } from './flood.ts';
import { heater } from './heater.ts';
import { hose } from './hose.ts';
import { impure } from './impure.ts';
import { inVain } from './in-vain.ts';
import { masters } from './masters.ts';
import { spilled } from './spilled.ts';
import { unfit } from './unfit.ts';

export const CHECKS: readonly (() => Check)[] = [
  spilled,
  hose,
  dry,
  heater,
  delivered,
  conserved,
  commands,
  masters,
  flood,
  inVain,
  cycling,
  unfit,
  impure,
  againstTopOff,
  calm,
];
