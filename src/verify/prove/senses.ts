// What the coarse station says at the end of a tick: every feedback and every sensor, once a tick, true or as its defect
// makes it. The core hears it in the form of its own inputs.
import type { Input } from '../../control/guard/types.ts';
import type { State } from '../../control/process/state.ts';
import type { Sensor, SensorKind } from '../../station/plant.ts';
import { type Broken, wayOf } from './broken.ts';
import type { Model } from './model.ts';
import { passedBy, spokenBy, type Value } from './spoken.ts';
import { contact, type Water } from './water.ts';

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

/** More changes than the core forgives within a tick. */
const FLUTTERS = 9;
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
      speech === 'lies' || speech === 'stored'
        ? lie(model, state, water, broken, at, way)
        : truth(model, water, broken, at);
    if (speech !== 'chatters') {
      inputs.push({ type: 'reading', sensor: id, value, live: speech !== 'stored' });
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

const truth = (model: Model, water: Water, broken: Broken, at: number): Value => {
  const sensor = sensorAt(model, at);
  return spokenBy(sensor).truth(sensor, { model, water, broken, at });
};

function lie(model: Model, state: State, water: Water, broken: Broken, at: number, way: number): Value {
  const sensor = sensorAt(model, at);
  const { lies, lie: said } = spokenBy(sensor);
  const own = wayOf(broken, 'sensor', at, way);
  if (lies[own] === 'frozen') return state.sensors[sensor.id]?.value ?? truth(model, water, broken, at);
  return said(own, sensor, { model, water, broken, at });
}

function sensorAt({ sensors }: Model, at: number): Sensor {
  const sensor = sensors[at];
  if (sensor === undefined) throw new Error(`no sensor ${at}`);
  return sensor;
}
