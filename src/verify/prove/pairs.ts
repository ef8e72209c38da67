// Which two faults are looked at together: both at one route, its devices, its meter, or the sensors of the vessels at its
// ends. Faults at different ends of a station hardly meet; faults of one route are what a bad day is made of.
import type { Route } from '../../station/plant.ts';
import { has } from './defect-kinds.ts';
import type { Defect } from './defects.ts';
import type { Model } from './model.ts';

/** The places in the catalogue of all that can be latent. */
export const latentOf = (all: readonly Defect[]): readonly number[] =>
  all.flatMap(({ kind }, at) => (has(kind, 'latent') ? [at] : []));

/** The faults that may come to a latent one. */
export function neighboursOf(model: Model, all: readonly Defect[], latent: Defect): readonly Defect[] {
  const routes = Object.values(model.plant.routes).map((route) => aroundRoute(model, route));
  const near = routes.filter((around) => around.has(latent.what));
  return all.filter((other) => {
    if (other.kind === latent.kind && other.what === latent.what) return false;
    if (has(other.kind, 'near-all')) return true;
    return has(other.kind, 'second') && near.some((around) => around.has(other.what));
  });
}

function aroundRoute({ plant }: Model, route: Route): ReadonlySet<string> {
  const ends = [route.from, route.to];
  const sensors = Object.values(plant.sensors).filter((sensor) =>
    'vessel' in sensor ? ends.includes(sensor.vessel) : 'route' in sensor ? sensor.route === route.id : true,
  );
  const heaters = Object.values(plant.heaters).filter(({ vessel }) => ends.includes(vessel));
  return new Set([
    route.id,
    ...ends,
    ...route.through,
    ...route.shut,
    ...route.upstream,
    ...sensors.map(({ id }) => id),
    ...heaters.map(({ actuator }) => actuator),
  ]);
}
