// 8a. One output by itself, while a station is commissioned and nothing else runs. A person has said that its load is isolated:
// for that output, and only for a while, rows that protect nothing but the load itself give way. Rows against overflow and
// flood, about other devices, and about the link stay; for a heater what bares it stays as well.
import type { Plant } from '../../station/plant.ts';
import { forbiddenBy, rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { ISOLATED_MOST_MS } from './limits.ts';
import { type Isolated, usersOf } from './row-kinds.ts';
import type { GuardState } from './state.ts';

export interface Alone {
  readonly output: string;
  /** Its load is switched off at its own isolator, or unplugged, as a person at the station has said. */
  readonly isolated: boolean;
  /** False: told once, to see when it ends by itself. */
  readonly renewed: boolean;
}

/** The keys of the rows that keep it off. */
export function forbiddenAlone(plant: Plant, state: GuardState, alone: Alone): readonly string[] {
  const keys = usersOf(plant, alone.output).flatMap((target) => forbiddenBy(state, target));
  const mayGive = givingWay(plant, state, alone);
  return [...new Set(keys)].filter((key) => !mayGive.some((one) => one === rowOf(plant, key)?.isolated));
}

function givingWay(plant: Plant, state: GuardState, alone: Alone): readonly Isolated[] {
  if (!alone.isolated) return [];
  const { kind, leaseMs } = known(plant.actuators, alone.output);
  const { on, sinceMs } = known(state.devices, alone.output);
  const mostMs = alone.renewed ? ISOLATED_MOST_MS : Math.max(ISOLATED_MOST_MS, leaseMs);
  if (on && sinceMs > mostMs) return [];
  // Dry running, missing readings, pauses between starts, what water is delivered: nothing of it concerns a load without power. But
  // no heater is on without power to it having been cut and water over it, both.
  return kind === 'heater' ? ['gives-way'] : ['gives-way', 'heaters-stay'];
}

/** Every other output is off for certain; what stands for the service itself, and what moves neither water nor heat, does not count. */
export const isAlone = (plant: Plant, state: GuardState, output: string): boolean =>
  Object.values(plant.actuators).every(
    ({ id, kind }) =>
      id === output || id === plant.alive || kind === 'signal' || known(state.devices, id).provenOff,
  );

export const isAllowedAlone = (plant: Plant, state: GuardState, alone: Alone): boolean =>
  isAlone(plant, state, alone.output) && forbiddenAlone(plant, state, alone).length === 0;
