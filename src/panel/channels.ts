// Which lines a station's history has, and their values at one moment.

import { fresh, salinityOf } from '../control/evidence.ts';
import { known } from '../control/invariant.ts';
import { reserveShareOf } from '../control/on-hand.ts';
import type { State } from '../control/state.ts';
import type { Plant } from '../station/plant.ts';
import type { Channel } from './contract.ts';

/** Every line that this station can have a value for. */
export function channelsOf(plant: Plant): readonly Channel[] {
  const vessels = Object.values(plant.vessels).filter((vessel) => Number.isFinite(vessel.capacityL));
  const of = (kind: Channel['kind'], ids: readonly string[]): Channel[] =>
    ids.map((subject) => ({ id: `${kind}:${subject}`, kind, subject }));
  const ids = vessels.map(({ id }) => id);
  const salted = vessels.filter((v) => v.conductivity !== null || v.id === plant.mixingId);
  return [
    ...of('least', ids),
    ...of('most', ids),
    ...of(
      'salinity',
      salted.map(({ id }) => id),
    ),
    ...of(
      'temperature',
      Object.values(plant.vessels)
        .filter((v) => v.temperature !== null)
        .map(({ id }) => id),
    ),
    ...of(
      'flow',
      Object.values(plant.routes)
        .filter((route) => route.meter !== null)
        .map(({ id }) => id),
    ),
    ...of('delivered', Object.keys(plant.process.exchange)),
    ...of('difference', Object.keys(plant.process.exchange)),
    { id: 'reserve', kind: 'reserve', subject: null },
  ];
}

/** What each line says now; null where nothing fresh says anything. */
export function sampleOf(plant: Plant, state: State, channels: readonly Channel[]): (number | null)[] {
  return channels.map(({ kind, subject }) => presentOf(plant, state, kind, subject ?? ''));
}

function presentOf(plant: Plant, state: State, kind: Channel['kind'], id: string): number | null {
  switch (kind) {
    case 'least':
      return known(state.vessels, id).leastL;
    case 'most':
      return known(state.vessels, id).mostL;
    case 'salinity':
      return salinityOf(plant, state, id);
    case 'temperature':
      return fresh(plant, state, known(plant.vessels, id).temperature);
    case 'flow':
      return known(state.routes, id).flowLpm;
    case 'delivered':
      return known(state.exchange, id).todayL;
    case 'difference':
      return known(state.exchange, id).differenceL;
    case 'reserve':
      return reserveShareOf(plant, state);
  }
}
