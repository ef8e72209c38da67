// The judges of a night.
import type { Check } from './check.ts';
import { commands } from './commands.ts';
import { conserved } from './conserved.ts';
import { delivered } from './delivered.ts';
import { dry } from './dry.ts';
import { flood } from './flood.ts';
import { heater } from './heater.ts';
import { hose } from './hose.ts';
import { masters } from './masters.ts';
import { spilled } from './spilled.ts';

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
];
