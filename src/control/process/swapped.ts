// Two outputs that are swapped: one device is told to run and another does. No row is about that, because what the water does
// trips a row anyway; but whoever looks for the cause is told what the evidence shows: who was switched on when it began.

import type { Plant, Route } from '../../station/plant.ts';
import { feedbackOf, fresh } from '../guard/evidence.ts';
import { zeroOf } from '../guard/flows.ts';
import type { Row } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { AT_ONCE_MS, FOREIGN_MS } from '../guard/limits.ts';
import { type Message, message } from '../guard/message.ts';
import type { Finding } from '../guard/row-kinds.ts';
import type { State } from './state.ts';

const SHOWS_SWAPPED: Readonly<
  Partial<Record<Finding, (plant: Plant, state: State, id: string, words: Message) => Message>>
> = {
  'no-flow': flowElsewhere,
  'flow-at-rest': flowOfAnother,
  'on-unasked': cameOnWithAnother,
  'foreign-command': cameOnWithAnother,
};

/** What a row says when it begins to hold, and what shows two swapped outputs where something does. */
export function withSwapped(plant: Plant, state: State, { finding, subject, words }: Row): Message {
  const shown = finding === null ? undefined : SHOWS_SWAPPED[finding];
  return shown?.(plant, state, subject, words) ?? words;
}

/** It reports on against its orders since another was told to be on, which does not report on. */
function cameOnWithAnother(plant: Plant, state: State, id: string, words: Message): Message {
  const device = state.devices[id];
  if (device === undefined || device.on || feedbackOf(plant, state, id) !== true) return words;
  // By hand or not: a press that was just heard began now.
  const sinceMs = device.foreignMs === FOREIGN_MS ? 0 : device.disagreesMs;
  const other = Object.values(plant.actuators).find((actuator) => {
    const told = known(state.devices, actuator.id);
    const beganWith = told.sinceMs >= sinceMs && told.sinceMs - sinceMs <= AT_ONCE_MS;
    return (
      actuator.id !== id &&
      actuator.kind !== 'signal' &&
      told.on &&
      beganWith &&
      isDenied(plant, state, actuator.id)
    );
  });
  return other === undefined ? words : message('swapped-came-on-with', { first: words, device: other.id });
}

/** There is feedback, and it does not say on. */
const isDenied = (plant: Plant, state: State, id: string): boolean =>
  known(plant.actuators, id).feedback !== null && feedbackOf(plant, state, id) !== true;

/** Water passes here unasked since another route was told to run, where none does. */
function flowOfAnother(plant: Plant, state: State, id: string, words: Message): Message {
  const route = plant.routes[id];
  if (route === undefined || !flowsUnasked(plant, state, route)) return words;
  const { strayL, flowLpm } = known(state.routes, id);
  const other = Object.values(plant.routes).find((candidate) => {
    const pipe = known(state.routes, candidate.id);
    const lastsMs = (60_000 * strayL) / Math.max(flowLpm ?? 0, route.flowLeastLpm);
    return (
      pipe.running === 'yes' &&
      lastsMs <= pipe.runMs + AT_ONCE_MS &&
      pipe.runMs - lastsMs <= AT_ONCE_MS &&
      isStill(plant, state, candidate)
    );
  });
  return other === undefined ? words : message('swapped-began-with', { first: words, route: other.id });
}

/** Nothing passes here, and water passes unasked elsewhere. */
function flowElsewhere(plant: Plant, state: State, id: string, words: Message): Message {
  const other = Object.values(plant.routes).find(
    (route) => route.id !== id && flowsUnasked(plant, state, route),
  );
  return other === undefined ? words : message('swapped-flows-elsewhere', { first: words, route: other.id });
}

function flowsUnasked(plant: Plant, state: State, route: Route): boolean {
  const { running, strayL } = known(state.routes, route.id);
  const flowLpm = flowBy(plant, state, route);
  return running === 'no' && strayL > 0 && flowLpm !== null && flowLpm > 0;
}

function isStill(plant: Plant, state: State, route: Route): boolean {
  const flowLpm = flowBy(plant, state, route);
  return flowLpm === null ? route.meter !== null : flowLpm < route.flowLeastLpm / 2;
}

/** What its meter freshly shows; null where it shows nothing, or there is none. */
function flowBy(plant: Plant, state: State, route: Route): number | null {
  if (route.meter === null || fresh(plant, state, route.meter) === null) return null;
  const { flowLpm } = known(state.routes, route.id);
  return flowLpm !== null && flowLpm <= zeroOf(known(plant.sensors, route.meter), route) ? 0 : flowLpm;
}
