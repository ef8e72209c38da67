// What follows from the plumbing is worked out once for each plant and kept with it: the plant never changes. The plant that
// was asked for last is remembered, because a service asks for the same one all day.
import type { Plant } from '../../station/plant.ts';

export function perPlant<T>(make: (plant: Plant) => T): (plant: Plant) => T {
  const made = new WeakMap<Plant, T>();
  let last: { readonly plant: Plant; readonly value: T } | null = null;
  return (plant) => {
    if (last?.plant === plant) return last.value;
    let value = made.get(plant);
    if (value === undefined) {
      value = make(plant);
      made.set(plant, value);
    }
    last = { plant, value };
    return value;
  };
}
