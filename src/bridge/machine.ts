// The computer's clocks, read in this file and nowhere else in this room.
import { uptime } from 'node:os';
import type { Machine } from './clockwork.ts';
import type { Stamp } from './keeper.ts';
import { computerBoot } from './lock.ts';

export const machine: Machine = {
  monotonicMs: () => Number(process.hrtime.bigint() / 1000n) / 1000,
  uptimeMs: () => uptime() * 1000,
  date: () => new Date(),
};

export function stampNow(): Stamp {
  return { computerBoot: computerBoot(), monotonicMs: Math.floor(machine.monotonicMs()), wallMs: Date.now() };
}
