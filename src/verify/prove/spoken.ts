// What each kind of sensor says in the coarse world: what is so, and what it may say instead when it lies.
import type { Sensor, SensorKind, SensorOf } from '../../station/plant.ts';
import type { Broken } from './broken.ts';
import { MARKS } from './coarse-plant.ts';
import type { Model } from './model.ts';
import type { Water } from './water.ts';

export type Value = number | boolean;

interface Now {
  readonly model: Model;
  readonly water: Water;
  readonly broken: Broken;
  /** The sensor's place among those of the model. */
  readonly at: number;
}

interface Spoken<S> {
  /** The place in the list is the way. `true`: what is so; `frozen`: what was said before. */
  readonly lies: readonly string[];
  /** Whether what is so, in this coarse world, is always among those lies. */
  readonly hasTruth: boolean;
  truth(sensor: S, now: Now): Value;
  lie(own: number, sensor: S, now: Now): Value;
}

/** Beyond any vat: what a broken thermometer or probe may say. */
const FAR_TOO_MUCH = { celsius: 40, msPerCm: 80 };

/** What water of 16 degC makes of a reading that is compensated to 25 degC, and the other way round. */
const OFF_SHARE = { low: 0.83, high: 1.2 };

const wetOrDry = (own: number): Value => own === 1;
const vesselAt = ({ model }: Now, vessel: string): number =>
  model.vessels.findIndex(({ id }) => id === vessel);

const SPOKEN: { readonly [K in SensorKind]: Spoken<SensorOf<K>> } = {
  float: {
    lies: ['dry', 'wet'],
    hasTruth: true,
    truth: ({ vessel, position }, now) => standing(now, vessel) >= MARKS[position],
    lie: wetOrDry,
  },
  leak: { lies: ['dry', 'wet'], hasTruth: true, truth: (_, { water }) => water.floor, lie: wetOrDry },
  'top-off': {
    lies: ['resting', 'running'],
    hasTruth: true,
    truth: ({ vessel }, now) => now.broken.topOff[vesselAt(now, vessel)] ?? false,
    lie: wetOrDry,
  },
  level: {
    lies: ['empty', 'true', 'full', 'frozen'],
    hasTruth: true,
    truth: ({ vessel }, now) => standing(now, vessel),
    lie: (own, sensor, now) => {
      const vessel = vesselAt(now, sensor.vessel);
      return [0, now.water.level[vessel] ?? 0, now.model.vessels[vessel]?.capacity ?? 0][own] ?? 0;
    },
  },
  flow: {
    lies: ['nothing', 'flowing', 'far-too-much'],
    hasTruth: true,
    truth: (_, { model, water, at }) => passedBy(model, water, at),
    lie: (own) => [0, 1, 3][own] ?? 0,
  },
  total: {
    lies: ['nothing', 'counting', 'counting-twice'],
    hasTruth: true,
    truth: (_, { water, at }) => water.unheard[at] ?? 0,
    // The counter itself was turned by `count` in the water, as the lie has it.
    lie: (_, __, { water, at }) => water.unheard[at] ?? 0,
  },
  temperature: {
    lies: ['cold', 'target', 'hot', 'frozen'],
    hasTruth: false,
    truth: ({ vessel }, { model, water }) => (vessel === model.plant.mixingId ? water.mixC : model.warm),
    lie: (own, _, { model }) => [0, model.warm, FAR_TOO_MUCH.celsius][own] ?? 0,
  },
  conductivity: {
    // `low`, `high`: a cell that is fouled, or reads raw where the file says compensated, and the other way round.
    lies: ['fresh', 'target', 'too-salt', 'low', 'high', 'frozen'],
    hasTruth: false,
    truth: ({ vessel }, now) => conductivity(now, vessel),
    lie: (own, { vessel }, now) => {
      const of = conductivity(now, vessel);
      const aim = now.model.conductivityOf(now.model.target);
      return [0, aim, FAR_TOO_MUCH.msPerCm, OFF_SHARE.low * of, OFF_SHARE.high * of][own] ?? 0;
    },
  },
};

export const spokenBy = ({ measures }: { readonly measures: SensorKind }): Spoken<Sensor> =>
  SPOKEN[measures] as Spoken<Sensor>;

/** What has passed a meter in this tick, units. */
export const passedBy = ({ pipes }: Model, water: Water, meter: number): number =>
  pipes.reduce((sum, { meters }, pipe) => sum + (meters.includes(meter) ? (water.flow[pipe] ?? 0) : 0), 0);

function standing(now: Now, vesselId: string): number {
  const vessel = vesselAt(now, vesselId);
  return (now.water.level[vessel] ?? 0) + (now.broken.returnStopped[vessel] ? 2 : 0);
}

function conductivity({ model, water, broken }: Now, vesselId: string): number {
  const vessel = model.plant.vessels[vesselId];
  if (vesselId === model.plant.mixingId) return model.conductivityOf(salinityIn(model, water));
  const limit = vessel?.purityLimitMsPerCm ?? 0.05;
  if (vessel?.role === 'purified-water') return broken.exhausted ? 2 * limit : limit / 2;
  return vessel?.role === 'system' ? model.conductivityOf(model.target) : limit / 2;
}

export const salinityIn = ({ mixing, target }: Model, water: Water): number =>
  (target * water.salt) / Math.max(1, water.level[mixing] ?? 1);
