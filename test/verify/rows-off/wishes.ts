// A process that has lost its mind: whatever the phases want, these are wanted too. What then still does not run is held by
// an interlock row and by nothing else.
import type { refill } from '../../../src/control/process/refill.ts';

type Phase = typeof refill;

let wanted: (elapsedMs: number) => readonly string[] = () => [];

/** From now on these targets are wanted; with `fluttersMs`, on and off in turn, each for so long. */
export function wish(targets: readonly string[], fluttersMs?: number): void {
  let atMs = 0;
  wanted = (elapsedMs) => {
    atMs += elapsedMs;
    const isPause = fluttersMs !== undefined && atMs % (2 * fluttersMs) >= fluttersMs;
    return isPause ? [] : targets;
  };
}

/** A phase that goes on as it does, and wants more. */
export const wishing =
  (phase: Phase): Phase =>
  (plant, draft, elapsedMs, wants) => {
    phase(plant, draft, elapsedMs, wants);
    wants.targets.push(...wanted(elapsedMs));
  };
