// Plants for the tests of this room: the three examples, and Marram Point with other wiring.
import type { Plant } from '../../src/station/plant.ts';
import { EXAMPLES, example, plantFrom } from '../station/stations.ts';

export const PLANTS = EXAMPLES.map((name) => [name, plantFrom(example(name))] as const);

type Placed = { readonly failureDomain: string | null };

/** The same station, its devices placed on boards; null: nobody says where. */
export function wired(plant: Plant, boardOf: (id: string) => string | null): Plant {
  const placed = <T extends Placed>(devices: Readonly<Record<string, T>>): Record<string, T> =>
    Object.fromEntries(
      Object.entries(devices).map(([id, device]) => [id, { ...device, failureDomain: boardOf(id) }]),
    );
  return { ...plant, actuators: placed(plant.actuators), sensors: placed(plant.sensors) };
}

/** The same station, each device with an adapter, a topic and a supply of its own. */
export function independent(plant: Plant): Plant {
  const alone = wired(plant, () => null);
  return {
    ...alone,
    sensors: Object.fromEntries(
      Object.entries(alone.sensors).map(([id, sensor]) => [
        id,
        { ...sensor, availability: [], topic: `t/${id}` },
      ]),
    ),
    actuators: Object.fromEntries(
      Object.entries(alone.actuators).map(([id, actuator]) => [
        id,
        {
          ...actuator,
          feedback: actuator.feedback && { ...actuator.feedback, availability: [], topic: `f/${id}` },
        },
      ]),
    ),
  };
}
