// Where in time something was written. Order comes from the numbers of the steps and from nothing else; these readings
// are for people, and for the one question that a restart asks: how long was the service away?
import { readFileSync } from 'node:fs';
import { LIMITS } from './limits.ts';

export interface Stamp {
  /** Which start of the computer; null where the system does not say. */
  readonly computerBoot: string | null;
  /** Since any moment of that start, ms. */
  readonly monotonicMs: number;
  /** Since 1970, ms; may jump. */
  readonly wallMs: number;
}

const thisBoot = readBoot();

/** This moment by this computer's clocks. */
export function stampNow(): Stamp {
  const monotonicMs = Math.floor(Number(process.hrtime.bigint() / 1_000_000n));
  return { computerBoot: thisBoot, monotonicMs, wallMs: Date.now() };
}

function readBoot(): string | null {
  try {
    return readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim();
  } catch {
    return null;
  }
}

/**
 * How long ago something was stamped, ms; null where nobody can know. Within one start of the computer its monotonic
 * clock tells; across a restart only the wall clock can, and only if both readings are plausible and in order.
 */
export function gapOf(taken: Stamp, now: Stamp): number | null {
  const sameStart = taken.computerBoot !== null && taken.computerBoot === now.computerBoot;
  if (sameStart && now.monotonicMs >= taken.monotonicMs)
    return Math.ceil(now.monotonicMs - taken.monotonicMs);
  const plausible = new Date(taken.wallMs).getFullYear() >= LIMITS.earliestYear && now.wallMs >= taken.wallMs;
  return plausible ? now.wallMs - taken.wallMs : null;
}
