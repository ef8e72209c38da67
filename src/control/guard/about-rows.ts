// What a row about other rows is about. I-12: whatever the other rows need to hear. I-28 and I-33: each row that a person
// tries by hand.

import type { Plant } from '../../station/plant.ts';
import { blind, deafTo } from './evidence.ts';
import type { Unplaced } from './interlocks.ts';
import { known } from './invariant.ts';
import { type Message, message } from './message.ts';
import { actuatorsOf, all, type Holds } from './row-kinds.ts';
import type { GuardState } from './state.ts';

/** A sensor or a feedback, and what may not run while it is not fresh. */
export interface Listened {
  readonly id: string;
  readonly name: string;
  readonly about: Message;
  readonly forbids: readonly string[];
  readonly isSilent: Holds;
}

/** A target needs what its other rows need, and the feedback of whatever it runs by. */
export function listened(plant: Plant, rows: readonly Unplaced[]): Listened[] {
  const sensors = new Map<string, Set<string>>();
  for (const row of rows)
    for (const target of row.forbids)
      for (const need of row.needs)
        if (row.action === 'block' || neededByTrip(plant, row, target))
          sensors.set(need, (sensors.get(need) ?? new Set()).add(target));
  return [
    ...[...sensors].map(([id, targets]) => ({
      id,
      name: known(plant.sensors, id).name,
      about: message('the-sensor', { sensor: id }),
      forbids: [...targets],
      isSilent: blind(plant, id),
    })),
    ...Object.values(plant.actuators)
      .filter((actuator) => actuator.feedback !== null)
      .map((actuator) => ({
        id: actuator.id,
        name: actuator.name,
        about: message('the-feedback', { device: actuator.id }),
        forbids: all(plant).filter((target) => actuatorsOf(plant, target).includes(actuator.id)),
        isSilent: deafTo(actuator),
      }))
      .filter(({ forbids }) => forbids.length > 0),
  ];
}

/** A trip cuts off more than what its sensor guards: only what really fills, empties or heats there needs that sensor. */
function neededByTrip(plant: Plant, row: Unplaced, target: string): boolean {
  return row.needs.some((need) => {
    const sensor = known(plant.sensors, need);
    if (!('vessel' in sensor)) return 'route' in sensor && sensor.route === target;
    const route = plant.routes[target];
    return route ? route.to === sensor.vessel : plant.heaters[target]?.vessel === sensor.vessel;
  });
}

/** A row that has a proof test; its id is the end of the keys of the rows about it. */
export interface Tried {
  readonly id: string;
  readonly name: string;
  readonly about: Message;
  readonly row: Unplaced & { readonly proves: string };
}

export const tried = (rows: readonly Unplaced[]): Tried[] =>
  rows.flatMap((row) => {
    const { proves, about, subject, kind } = row;
    if (proves === null) return [];
    return [{ id: `${subject}/${kind.replace('/', '-')}`, name: row.key, about, row: { ...row, proves } }];
  });

/** How long ago a row was last proven by hand, or commissioned if it never was, ms. */
export const sinceProven = (state: GuardState, row: string): number =>
  state.proofs.sinceMs[row] ?? state.proofs.sinceStartMs;

/** What must rest while a contact is moved by hand: what the row forbids, and whatever else touches the vessel. */
export function concernedBy(plant: Plant, row: Unplaced, sensorId: string): readonly string[] {
  const vessel = vesselOf(plant, sensorId);
  const near = all(plant).filter((target) => {
    const route = plant.routes[target];
    if (route) return route.from === vessel || route.to === vessel;
    return (plant.heaters[target] ?? plant.dosers[target])?.vessel === vessel;
  });
  return [...new Set([...row.forbids, ...near])];
}

/** The vessel that a contact hangs in; null where it hangs in none. */
export function vesselOf(plant: Plant, sensorId: string): string | null {
  const sensor = known(plant.sensors, sensorId);
  return 'vessel' in sensor ? sensor.vessel : null;
}
