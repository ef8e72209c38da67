// The questions about a plant that the table of advice asks again and again.
import type { Actuator, FloatSensor, Plant, Route, Sensor, Vessel } from './plant.ts';

/** Something advice is about: a JSON Pointer into the station file and how people call it. */
export interface Subject {
  readonly pointer: string;
  readonly name: string;
}

export const vesselSubject = ({ id, name }: Vessel): Subject => ({ pointer: `/vessels/${id}`, name });
export const routeSubject = ({ id, name }: Route): Subject => ({ pointer: `/routes/${id}`, name });
export const sensorSubject = ({ id, name }: Sensor): Subject => ({ pointer: `/sensors/${id}`, name });
export const actuatorSubject = ({ id, name }: Actuator): Subject => ({ pointer: `/actuators/${id}`, name });
export const heaterSubject = ({ id, name }: Plant['heaters'][string]): Subject => ({
  pointer: `/heaters/${id}`,
  name,
});

export const vessels = (plant: Plant): readonly Vessel[] => Object.values(plant.vessels);
export const routes = (plant: Plant): readonly Route[] => Object.values(plant.routes);
export const sensors = (plant: Plant): readonly Sensor[] => Object.values(plant.sensors);
export const heaters = (plant: Plant) => Object.values(plant.heaters);

export const isBounded = ({ capacityL }: Vessel): boolean => Number.isFinite(capacityL);

/** Vessels that something fills and that can therefore run over. */
export const filled = (plant: Plant): readonly Vessel[] =>
  vessels(plant).filter((vessel) => isBounded(vessel) && vessel.into.length > 0);

/** Actuators by which water or heat is moved; a signal is none of them. */
export const movers = (plant: Plant): readonly Actuator[] =>
  Object.values(plant.actuators).filter(({ kind }) => kind !== 'signal');

export const pumps = (plant: Plant): readonly Actuator[] =>
  Object.values(plant.actuators).filter(({ kind }) => kind === 'pump');

export const floatAt = (plant: Plant, id: string | undefined): FloatSensor | undefined => {
  const sensor = id === undefined ? undefined : plant.sensors[id];
  return sensor?.measures === 'float' ? sensor : undefined;
};

/** Whether two devices say that they share a board, a supply or whatever else may fail for both. */
export const shareADomain = (
  ...devices: readonly ({ readonly failureDomain: string | null } | undefined)[]
) => {
  const domains = devices.map((device) => device?.failureDomain ?? null);
  return domains.every((domain) => domain !== null && domain === domains[0]);
};

/** Everything that is used by a route, a heater, a doser, as something upstream, as lamp or as top-off inhibit. */
export function usedActuators(plant: Plant): ReadonlySet<string> {
  return new Set(
    [
      ...routes(plant).flatMap(({ through, shut, upstream }) => [...through, ...shut, ...upstream]),
      ...[...heaters(plant), ...Object.values(plant.dosers)].map(({ actuator }) => actuator),
      ...Object.values(plant.actuators).map(({ upstream }) => upstream),
      ...Object.values(plant.process.exchange).map(({ inhibitTopOff }) => inhibitTopOff),
      plant.alive,
    ].filter((id) => id !== null),
  );
}

/** Litres that can be drawn from a vessel that holds so much: down to its minimum or its low float, whichever is first. */
export function usableL(plant: Plant, vessel: Vessel | undefined, contentsL: number): number {
  if (vessel === undefined) return 0;
  const low = floatAt(plant, vessel.floats.low);
  const endL = Math.max(vessel.minimumL, low === undefined ? 0 : low.markL + low.toleranceL);
  return Math.max(0, contentsL - endL);
}

/** Litres on hand when both vats are as full as the process makes them. */
export function onHandL(plant: Plant): number {
  const fresh = plant.freshId === null ? undefined : plant.vessels[plant.freshId];
  return (
    usableL(plant, fresh, plant.process.refill?.stopAtL ?? fresh?.capacityL ?? 0) +
    usableL(plant, plant.vessels[plant.mixingId], plant.process.batch.contentsL)
  );
}

export const systemsL = (plant: Plant): number =>
  plant.systemIds.reduce((sum, id) => sum + (plant.vessels[id]?.volumeL ?? 0), 0);

export const exchangePerDayL = (plant: Plant): number =>
  Object.entries(plant.process.exchange).reduce(
    (sum, [id, { perDayShare }]) => sum + perDayShare * (plant.vessels[id]?.volumeL ?? 0),
    0,
  );

/** What the purifier brings in a day at the least flow of its best route; null where no route comes from it. */
export function purifiedPerDayL(plant: Plant): number | null {
  const flows = routes(plant)
    .filter(({ from, purpose }) => plant.vessels[from]?.role === 'purified-water' && purpose !== 'flush')
    .map(({ flowLeastLpm }) => flowLeastLpm);
  return flows.length === 0 ? null : Math.max(...flows) * 1440;
}

/**
 * A pump whose bearings are wetted by what it moves is taken to stand a minute without water (from memory; its manual may say
 * less).
 */
export const STANDS_DRY_MS = 60_000;
/** A counter that speaks only on change is waited for, and too little flow must stand: the core's own waits together. */
const WAITS_MS = 7_000;

/** From the last drop to the stop, by the meter of the route alone: one count at its least flow, one message, the waits. */
export function dryUnseenMs(plant: Plant, { meter, flowLeastLpm }: Route): number {
  const sensor = meter === null ? undefined : plant.sensors[meter];
  if (sensor?.measures === 'flow') return (sensor.republishesMs ?? 0) + WAITS_MS;
  if (sensor?.measures !== 'total') return 0;
  // Where the file does not say what a count is worth, the steps will.
  const countL = sensor.inPulses ? sensor.countL : 0;
  return (
    (60_000 * countL) / (flowLeastLpm * (1 - sensor.uncertainty)) + (sensor.republishesMs ?? 0) + WAITS_MS
  );
}

export const litres = (amountL: number): string => `${Number(amountL.toPrecision(3))} L`;
export const named = (subjects: readonly { readonly name: string }[]): string =>
  subjects.map(({ name }) => name).join(', ');
