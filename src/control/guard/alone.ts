// 8a. One output by itself, while a station is commissioned and nothing else runs. A person has said that its load is isolated:
// for that output, and only for a while, rows that protect nothing but the load itself give way. Rows against overflow and
// flood, about other devices, and about the link stay; for a heater what bares it stays as well.
import type { Plant } from '../../station/plant.ts';
import { forbiddenBy, rowOf } from './interlocks.ts';
import { known } from './invariant.ts';
import { ISOLATED_MOST_MS } from './limits.ts';
import { usersOf } from './row-kinds.ts';
import type { GuardState } from './state.ts';

export interface Alone {
  readonly output: string;
  /** Its load is switched off at its own isolator, or unplugged, as a person at the station has said. */
  readonly isolated: boolean;
  /** False: told once, to see when it ends by itself. */
  readonly renewed: boolean;
}

/** Dry running, missing readings, pauses between starts, and what water is delivered: nothing of it concerns a load without power. */
const OF_THE_LOAD: readonly string[] = ['I-05', 'I-06', 'I-07', 'I-12', 'I-15', 'I-17', 'I-20'];
/** No heater is on without power to it having been cut and water over it, both. */
const OF_A_HEATER: readonly string[] = ['I-15', 'I-17'];

/** The keys of the rows that keep it off. */
export function forbiddenAlone(plant: Plant, state: GuardState, alone: Alone): readonly string[] {
  const keys = usersOf(plant, alone.output).flatMap((target) => forbiddenBy(state, target));
  const mayGive = givingWay(plant, state, alone);
  return [...new Set(keys)].filter((key) => !mayGive.includes(rowOf(plant, key)?.id ?? ''));
}

function givingWay(plant: Plant, state: GuardState, alone: Alone): readonly string[] {
  if (!alone.isolated) return [];
  const { kind, leaseMs } = known(plant.actuators, alone.output);
  const { on, sinceMs } = known(state.devices, alone.output);
  const mostMs = alone.renewed ? ISOLATED_MOST_MS : Math.max(ISOLATED_MOST_MS, leaseMs);
  if (on && sinceMs > mostMs) return [];
  return kind === 'heater' ? OF_A_HEATER : OF_THE_LOAD;
}

/** Every other output is off for certain; what stands for the service itself, and what moves neither water nor heat, does not count. */
export const isAlone = (plant: Plant, state: GuardState, output: string): boolean =>
  Object.values(plant.actuators).every(
    ({ id, kind }) =>
      id === output || id === plant.alive || kind === 'signal' || known(state.devices, id).provenOff,
  );

export const isAllowedAlone = (plant: Plant, state: GuardState, alone: Alone): boolean =>
  isAlone(plant, state, alone.output) && forbiddenAlone(plant, state, alone).length === 0;
