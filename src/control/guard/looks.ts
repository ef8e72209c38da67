// What each interlock row looks at, with its present value and the limit where it begins to hold: for people who ask why.
// It decides nothing and repeats no rule: whether a row holds is asked of the row itself; here are only the numbers that
// its words speak of. Beside it stand the sensors that the row needs.

import type { Plant } from '../../station/plant.ts';
import { sinceProven } from './about-rows.ts';
import { mismatchBoundL } from './contents.ts';
import { feedbackOf, fresh, salinityOf } from './evidence.ts';
import { circulates, strayBoundL } from './flows.ts';
import { known } from './invariant.ts';
import { ledgersOf } from './ledger.ts';
import { LOW_FLOW_MS } from './limits.ts';
import { amount, fact, feedback, floatsOf, type Look, type Looking, running, sensors } from './look.ts';
import { message } from './message.ts';
import { underWayL } from './row-kinds.ts';
import type { GuardState } from './state.ts';

export const room: Looking = (plant, state, id) => {
  const route = known(plant.routes, id);
  const vessel = known(plant.vessels, route.to);
  const held = known(state.vessels, route.to);
  return [
    amount(
      message('look-may-hold'),
      'volume',
      held.mostL + underWayL(plant, state, route),
      vessel.capacityL - vessel.marginL,
      'above',
    ),
  ];
};

export const runTime: Looking = (_, state, id) => {
  const pipe = known(state.routes, id);
  const runMs = pipe.running === 'yes' ? pipe.runMs : 0;
  // Without a run there is no budget yet: the state holds the largest age instead.
  return pipe.running === 'yes'
    ? [running(state, id), amount(message('look-has-run'), 'duration', runMs, pipe.runBudgetMs, 'above')]
    : [running(state, id)];
};

export const pumpNeed: Looking = (plant, state, id) => {
  const from = known(plant.vessels, known(plant.routes, id).from);
  return [
    amount(
      message('look-holds-at-least'),
      'volume',
      known(state.vessels, from.id).leastL,
      from.minimumL,
      'below',
    ),
  ];
};

export const flowNow: Looking = (plant, state, id) => {
  const route = known(plant.routes, id);
  const pipe = known(state.routes, id);
  return [
    running(state, id),
    amount(message('look-flow'), 'flow', pipe.flowLpm, route.flowLeastLpm, 'below'),
    amount(message('look-too-little-flow'), 'duration', pipe.lowFlowMs, LOW_FLOW_MS, 'above'),
  ];
};

export const starved: Looking = (plant, state, id) => {
  const pipe = known(state.routes, id);
  const flow = amount(
    message('look-flow'),
    'flow',
    pipe.flowLpm,
    known(plant.routes, id).flowLeastLpm,
    'below',
  );
  return pipe.starvedMs > 0
    ? [flow, amount(message('look-tried-again'), 'duration', pipe.starvedMs)]
    : [flow];
};

export const stray: Looking = (plant, state, id) => {
  const pipe = known(state.routes, id);
  const bound = strayBoundL(plant, known(plant.routes, id), pipe);
  return [running(state, id), amount(message('look-flowed-unasked'), 'volume', pipe.strayL, bound, 'above')];
};

export const contradiction: Looking = (plant, state, id) => {
  const { contradiction } = known(state.vessels, id);
  const words: Look[] =
    contradiction === null
      ? []
      : [{ input: 'words', about: message('look-contradicts'), words: contradiction }];
  return [...floatsOf(plant, id), ...sensors(known(plant.vessels, id).level), ...words];
};

export const itself: Looking = (_, __, id) => sensors(id);

export const sharedWay: Looking = (plant, state, id) => {
  const { excludes, shut } = known(plant.routes, id);
  return [
    ...excludes.map((other) => running(state, other)),
    ...shut.map((device) =>
      fact(message('look-device-off', { device }), known(state.devices, device).provenOff),
    ),
  ];
};

export const rest: Looking = (plant, state, id) => {
  const route = known(plant.routes, id);
  const pipe = known(state.routes, id);
  return [
    running(state, id),
    ...(pipe.running === 'no'
      ? [amount(message('look-has-rested'), 'duration', pipe.restMs, route.minimumRestMs, 'below')]
      : []),
    amount(message('look-starts-left'), 'number', pipe.starts, 1, 'below'),
  ];
};

export const heating: Looking = (plant, state, id) => {
  const { actuator } = known(plant.heaters, id);
  const on = known(state.devices, actuator).on || feedbackOf(plant, state, actuator) === true;
  return [fact(message('look-is-on'), on), ...covered(plant, state, id)];
};

export const accepted: Looking = (plant, state, id) => [
  fact(message('look-batch-accepted'), state.batch.accepted),
  fact(message('look-circulation'), circulates(plant, state, known(plant.heaters, id).vessel)),
];

export const temperature: Looking = (plant, state, id) => {
  const heater = known(plant.heaters, id);
  const celsius = fresh(plant, state, known(plant.vessels, heater.vessel).temperature);
  return [amount(message('look-temperature'), 'temperature', celsius, heater.limitC, 'above')];
};

export const follows: Looking = (_, state, id) => [
  fact(message('look-warms'), !known(state.heaters, id).frozen),
  fact(message('look-rests-when-off'), !known(state.heaters, id).welded),
];

export const ledger: Looking = (plant, state, id) => {
  const { from, to, purpose } = known(plant.routes, id);
  const system = purpose === 'supply' ? to : from;
  const work = known(state.exchange, system);
  return [
    amount(message('look-drained-more'), 'volume', work.differenceL),
    amount(message('look-off-by'), 'volume', work.differenceErrorL),
    amount(message('look-bound'), 'volume', ledgersOf(plant)[system]?.boundL ?? 0),
  ];
};

export const link: Looking = (plant, state) => [
  fact(message('look-connected'), state.link.up),
  amount(message('look-last-echo'), 'duration', state.link.echoAgeMs, plant.link.provenWithinMs, 'above'),
];

export const tick: Looking = (plant, state) => [
  amount(message('look-last-tick'), 'duration', state.link.tickAgeMs, plant.link.tickWithinMs, 'above'),
];

export const lost: Looking = (_, state) => [
  fact(message('look-lost'), state.lost.length > 0),
  ...state.lost.map((words): Look => ({ input: 'words', about: message('look-not-taken-over'), words })),
];

export const record: Looking = (_, state) => [
  fact(message('look-record-writable'), state.link.journalWritable),
];

export const purity: Looking = (plant, state, id) => {
  const { impureMs } = known(state.routes, id);
  const source = known(plant.vessels, known(plant.routes, id).from);
  const limit = source.purityLimitMsPerCm ?? undefined;
  const value = fresh(plant, state, source.conductivity);
  return [
    amount(message('look-purified-water'), 'conductivity', value, limit, 'above'),
    ...(impureMs > 0 ? [amount(message('look-tried-again'), 'duration', impureMs)] : []),
  ];
};

export const bared: Looking = (plant, state, id) => {
  const heater = known(plant.heaters, id);
  return [
    fact(message('look-proven-off'), known(state.devices, heater.actuator).provenOff),
    amount(
      message('look-holds-at-least'),
      'volume',
      known(state.vessels, heater.vessel).leastL,
      heater.coveredL,
      'below',
    ),
  ];
};

export const reason: Looking = (_, state, id) => {
  const reason = state.outOfService[id];
  return reason === undefined ? [] : [{ input: 'words', about: message('look-reason'), words: reason }];
};

export const exercised: Looking = (plant, state, id) => [
  fact(message('look-exercised'), state.exercises.run?.valve === id),
  ...feedback(plant, id),
];

/** What must be proven off while a valve is exercised, as far as it is not. */
export function disturbed(plant: Plant, state: GuardState, id: string): Look[] {
  const { others } = known(plant.exercises, id);
  return [
    fact(
      message('look-all-off'),
      others.every((other) => known(state.devices, other).provenOff),
    ),
    ...others.flatMap((other) => feedback(plant, other)),
  ];
}

export function mismatch(plant: Plant, state: GuardState, id: string): Look[] {
  const vessel = known(plant.vessels, id);
  const held = known(state.vessels, id);
  return [
    ...sensors(vessel.level),
    amount(
      message('look-unexplained'),
      'volume',
      Math.abs(held.mismatchL),
      mismatchBoundL(plant, vessel),
      'above',
    ),
  ];
}

export function covered(plant: Plant, state: GuardState, id: string): Look[] {
  const heater = known(plant.heaters, id);
  return [
    ...sensors(known(plant.vessels, heater.vessel).floats.low),
    amount(
      message('look-holds-at-least'),
      'volume',
      known(state.vessels, heater.vessel).leastL,
      heater.coveredL,
      'below',
    ),
  ];
}

export function supplied(plant: Plant, state: GuardState, id: string): Look[] {
  const { from } = known(plant.routes, id);
  const { salinity, temperature, batch } = plant.process;
  const celsius = fresh(plant, state, known(plant.vessels, from).temperature);
  return [
    fact(message('look-batch-accepted'), state.batch.accepted),
    amount(message('look-salinity'), 'salinity', salinityOf(plant, state, from)),
    amount(message('look-salinity-wanted'), 'salinity', salinity.target),
    amount(message('look-give-or-take'), 'number', salinity.tolerance),
    amount(message('look-batch-age'), 'duration', state.batch.ageMs, batch.ageLimitMs, 'above'),
    ...(temperature === null
      ? []
      : [
          amount(message('look-temperature'), 'temperature', celsius, temperature.leastC, 'below'),
          amount(message('look-temperature'), 'temperature', celsius, temperature.mostC, 'above'),
        ]),
  ];
}

export function drifted(plant: Plant, state: GuardState, id: string): Look[] {
  const route = known(plant.routes, id);
  const system = route.purpose === 'supply' ? route.to : route.from;
  const work = state.exchange[system];
  const aims = plant.process.exchange[system];
  if (work === undefined || aims === undefined) return [];
  return [
    amount(message('look-drained-more'), 'volume', work.differenceL),
    amount(message('look-by-design'), 'volume', work.stepL),
    amount(message('look-bound'), 'volume', aims.errorBoundL),
  ];
}

export function agrees(plant: Plant, state: GuardState, id: string): Look[] {
  const device = known(state.devices, id);
  const within = known(plant.actuators, id).feedback?.withinMs ?? 0;
  return [
    fact(message('look-told-on'), device.on),
    ...feedback(plant, id),
    amount(message('look-contradicts-for'), 'duration', device.disagreesMs, within, 'above'),
  ];
}

export function foreign(_: Plant, state: GuardState, id: string): Look[] {
  const { foreignMs } = known(state.devices, id);
  const left: Look[] = foreignMs > 0 ? [amount(message('look-kept-off'), 'duration', foreignMs)] : [];
  return [fact(message('look-foreign'), foreignMs > 0), ...left];
}

/** The contact that a person moves for the proof test, and how long ago somebody did. */
export function tried(plant: Plant, state: GuardState, tested: string, proves: string): readonly Look[] {
  const { everyMs, graceMs } = plant.policy.proofTests;
  return [
    ...sensors(proves),
    amount(
      state.proofs.sinceMs[tested] === undefined ? message('look-never-tried') : message('look-last-tried'),
      'duration',
      sinceProven(state, tested),
      everyMs + graceMs,
      'above',
    ),
    fact(message('look-proof-test'), state.proofs.test?.row === tested),
  ];
}

/** What is listened to. */
export const heard = (plant: Plant, id: string): readonly Look[] =>
  plant.sensors[id] === undefined ? feedback(plant, id) : sensors(id);
