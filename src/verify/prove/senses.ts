// What the coarse station says at the end of a tick: every feedback and every sensor, once a tick, true or as its defect
// makes it. The core hears it in the form of its own inputs.
import type { State } from '../../control/guard/state.ts';
import type { Input } from '../../control/guard/types.ts';
import type { SensorKind } from '../../station/plant.ts';
import { type Broken, wayOf } from './broken.ts';
import { MARKS } from './coarse-plant.ts';
import { LIES } from './defects.ts';
import type { Model } from './model.ts';
import { contact, type Water } from './water.ts';

type Value = number | boolean;

/** Does whatever may lie say in this tick just what is so? Asked after the water has passed, before commands arrive. */
export function isTruthful(model: Model, state: State, water: Water, broken: Broken, way: number): boolean {
  return broken.defects.every(({ kind, at, ways }) => {
    if (ways === 1) return false;
    if (kind === 'feedback-lies')
      return (wayOf(broken, 'feedback', at, way) === 1) === contact(water, broken, at);
    if (model.sensors[at]?.measures === 'total')
      return wayOf(broken, 'sensor', at, way) === passedBy(model, water, at);
    return lie(model, state, water, broken, at, way) === truth(model, water, broken, at);
  });
}

/** What has passed a meter in this tick, units. */
export const passedBy = ({ pipes }: Model, water: Water, meter: number): number =>
  pipes.reduce((sum, { meters }, pipe) => sum + (meters.includes(meter) ? (water.flow[pipe] ?? 0) : 0), 0);
/** More changes than the core forgives within a tick. */
const FLUTTERS = 9;
/** Beyond any vat: what a broken thermometer or probe may say. */
const FAR_TOO_MUCH = { celsius: 40, msPerCm: 80 };

/** What water of 16 degC makes of a reading that is compensated to 25 degC, and the other way round. */
const OFF_SHARE = { low: 0.83, high: 1.2 };

/** @param state of the core: it remembers what a frozen sensor said last */
export function heard(model: Model, state: State, water: Water, broken: Broken, way: number): Input[] {
  const inputs: Input[] = [];
  model.switches.forEach(({ id, hasFeedback }, at) => {
    if (!hasFeedback || broken.feedback[at] === 'silent') return;
    const lies = broken.feedback[at] === 'lies';
    const on = lies ? wayOf(broken, 'feedback', at, way) === 1 : contact(water, broken, at);
    inputs.push({ type: 'feedback', actuator: id, on, live: true });
  });
  model.sensors.forEach(({ id }, at) => {
    const speech = broken.speech[at];
    if (speech === 'silent') return;
    if (speech === 'offline') {
      inputs.push({ type: 'bad-reading', sensor: id, reason: 'offline' });
      return;
    }
    const value =
      speech === 'lies' ? lie(model, state, water, broken, at, way) : truth(model, water, broken, at);
    if (speech !== 'chatters') {
      inputs.push({ type: 'reading', sensor: id, value, live: true });
      return;
    }
    for (let flutter = 0; flutter < FLUTTERS; flutter++)
      inputs.push({ type: 'reading', sensor: id, value: flutter % 2 === 0 ? !value : value, live: true });
  });
  return inputs;
}

/**
 * What meters, levels and floats say when this share of the tick has passed: water moves evenly. Everything else speaks once
 * in a tick.
 */
export function heardWithin(
  model: Model,
  state: State,
  before: Water,
  after: Water,
  broken: Broken,
  way: number,
  share: number,
): Input[] {
  const between = (from: readonly number[], to: readonly number[]): number[] =>
    from.map((value, at) => value + share * ((to[at] ?? 0) - value));
  const water: Water = {
    ...before,
    flow: after.flow,
    level: between(before.level, after.level),
    unheard: between(before.unheard, after.unheard),
  };
  return heard(model, state, water, broken, way).filter(
    (input) =>
      input.type === 'reading' && MOVED.includes(model.plant.sensors[input.sensor]?.measures ?? 'leak'),
  );
}
const MOVED: readonly SensorKind[] = ['float', 'level', 'flow', 'total'];

function truth(model: Model, water: Water, broken: Broken, at: number): Value {
  const sensor = model.sensors[at];
  switch (sensor?.measures) {
    case 'float': {
      const vessel = model.vessels.findIndex(({ id }) => id === sensor.vessel);
      return standing(water, broken, vessel) >= MARKS[sensor.position];
    }
    case 'leak':
      return water.floor;
    case 'top-off':
      return broken.topOff[model.vessels.findIndex(({ id }) => id === sensor.vessel)] ?? false;
    case 'level':
      return standing(
        water,
        broken,
        model.vessels.findIndex(({ id }) => id === sensor.vessel),
      );
    case 'flow':
      return passedBy(model, water, at);
    case 'total':
      return water.unheard[at] ?? 0;
    case 'temperature':
      return sensor.vessel === model.plant.mixingId ? water.mixC : model.warm;
    case 'conductivity':
      return conductivity(model, water, broken, sensor.vessel);
    default:
      throw new Error(`no sensor ${at}`);
  }
}

const standing = (water: Water, broken: Broken, vessel: number): number =>
  (water.level[vessel] ?? 0) + (broken.returnStopped[vessel] ? 2 : 0);

function conductivity(model: Model, water: Water, broken: Broken, vesselId: string): number {
  const vessel = model.plant.vessels[vesselId];
  if (vesselId === model.plant.mixingId) return model.conductivityOf(salinityIn(model, water));
  const limit = vessel?.purityLimitMsPerCm ?? 0.05;
  if (vessel?.role === 'purified-water') return broken.exhausted ? 2 * limit : limit / 2;
  return vessel?.role === 'system' ? model.conductivityOf(model.target) : limit / 2;
}

export const salinityIn = ({ mixing, target }: Model, water: Water): number =>
  (target * water.salt) / Math.max(1, water.level[mixing] ?? 1);

function lie(model: Model, state: State, water: Water, broken: Broken, at: number, way: number): Value {
  const sensor = model.sensors[at];
  const own = wayOf(broken, 'sensor', at, way);
  if (sensor === undefined) throw new Error(`no sensor ${at}`);
  const last = state.sensors[sensor.id]?.value ?? null;
  if (LIES[sensor.measures][own] === 'frozen') return last ?? truth(model, water, broken, at);
  switch (sensor.measures) {
    case 'level': {
      const vessel = model.vessels.findIndex(({ id }) => id === sensor.vessel);
      return [0, water.level[vessel] ?? 0, model.vessels[vessel]?.capacity ?? 0][own] ?? 0;
    }
    case 'flow':
      return [0, 1, 3][own] ?? 0;
    // The counter itself was turned by `count` in the water, as the lie has it.
    case 'total':
      return truth(model, water, broken, at);
    case 'temperature':
      return [0, model.warm, FAR_TOO_MUCH.celsius][own] ?? 0;
    case 'conductivity': {
      const of = truth(model, water, broken, at) as number;
      const { low, high } = OFF_SHARE;
      return [0, model.conductivityOf(model.target), FAR_TOO_MUCH.msPerCm, low * of, high * of][own] ?? 0;
    }
    case 'float':
    case 'leak':
    case 'top-off':
      return own === 1;
  }
}
