// What follows from the plumbing is worked out once for each plant and kept with it: the plant never changes.
import type { Plant } from '../station/plant.ts';

export function perPlant<T>(make: (plant: Plant) => T): (plant: Plant) => T {
  const made = new WeakMap<Plant, T>();
  return (plant) => {
    let value = made.get(plant);
    if (value === undefined) {
      value = make(plant);
      made.set(plant, value);
    }
    return value;
  };
}
