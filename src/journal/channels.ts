// What is drawn over a year: which lines a station has, and what each shows now.
import { fresh, isFresh, salinityOf } from '../control/guard/evidence.ts';
import { known } from '../control/guard/invariant.ts';
import { reserveShareOf } from '../control/process/on-hand.ts';
import type { State } from '../control/process/state.ts';
import { INLET_TEMPERATURE, permeateTemperatureDivisor } from '../engineering/purification.ts';
import type { Plant, Route, Vessel } from '../station/plant.ts';

export interface Channel {
  /** `contents/fresh`, `flow/transfer`: the quantity, and the vessel or route. */
  readonly name: string;
  readonly unit: 'L' | '1' | 'degC' | 'L/min';
  /** Null while nobody knows. Contents are an interval, everything else one number. */
  readonly now: (state: State) => number | readonly [least: number, most: number] | null;
}

export function channelsOf(plant: Plant): readonly Channel[] {
  const finite = Object.values(plant.vessels).filter((vessel) => Number.isFinite(vessel.capacityL));
  const routes = Object.values(plant.routes);
  return [
    ...finite.map(
      (vessel): Channel => ({
        name: `contents/${vessel.id}`,
        unit: 'L',
        now: (state) => contentsOf(vessel, state),
      }),
    ),
    ...finite.map(
      ({ id }): Channel => ({
        name: `salinity/${id}`,
        unit: '1',
        now: (state) => salinityOf(plant, state, id),
      }),
    ),
    ...Object.values(plant.vessels)
      .filter(({ temperature }) => temperature !== null)
      .map(
        ({ id, temperature }): Channel => ({
          name: `temperature/${id}`,
          unit: 'degC',
          now: (state) => fresh(plant, state, temperature),
        }),
      ),
    ...routes
      .filter(({ meter }) => meter !== null)
      .map(
        (route): Channel => ({
          name: `flow/${route.id}`,
          unit: 'L/min',
          now: (state) => flowOf(plant, state, route),
        }),
      ),
    ...routes
      .filter((route) => route.meter !== null && inletThermometer(plant, route) !== null)
      .map(
        (route): Channel => ({
          name: `output-at-25/${route.id}`,
          unit: 'L/min',
          now: (state) => outputAt25Lpm(plant, state, route),
        }),
      ),
    ...Object.keys(plant.process.exchange).flatMap((id): Channel[] => [
      { name: `delivered/${id}`, unit: 'L', now: ({ exchange }) => known(exchange, id).todayL },
      { name: `difference/${id}`, unit: 'L', now: ({ exchange }) => known(exchange, id).differenceL },
    ]),
    { name: 'reserve', unit: '1', now: (state) => reserveShareOf(plant, state) },
  ];
}

/** From empty to full is what nobody knows: a line through both would say that the vessel was emptied and filled. */
function contentsOf({ id, capacityL }: Vessel, { vessels }: State): readonly [number, number] | null {
  const { leastL, mostL } = known(vessels, id);
  return leastL <= 0 && mostL >= capacityL ? null : [leastL, mostL];
}

function flowOf(plant: Plant, state: State, { id, meter }: Route): number | null {
  return meter !== null && isFresh(plant, state, meter) ? known(state.routes, id).flowLpm : null;
}

const inletThermometer = (plant: Plant, { from, purpose }: Route): string | null => {
  const source = known(plant.vessels, from);
  return purpose === 'refill' && source.role === 'purified-water' ? source.temperature : null;
};

/**
 * What the purifier gives, as if its water had 25 degC and at whatever pressure the line has: the figure whose fall over
 * months says that the membrane is fouling, and not that it is winter. Null while it does not run in full.
 */
function outputAt25Lpm(plant: Plant, state: State, route: Route): number | null {
  const pipe = known(state.routes, route.id);
  if (pipe.running !== 'yes' || pipe.runMs <= route.primingMs) return null;
  const flowLpm = flowOf(plant, state, route);
  const celsius = fresh(plant, state, inletThermometer(plant, route));
  if (flowLpm === null || celsius === null) return null;
  if (celsius < INLET_TEMPERATURE.least || celsius > INLET_TEMPERATURE.most) return null;
  return flowLpm * permeateTemperatureDivisor(celsius);
}
