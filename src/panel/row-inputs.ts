// What each interlock row looks at, with its present value and the limit where it begins to hold: for people who ask why.
// It decides nothing and repeats no rule: whether a row holds is asked of the row itself; here are only the numbers that
// its words speak of. A row that is not in the table shows its sensors, and its words.

import { sinceProven } from '../control/guard/about-rows.ts';
import { mismatchBoundL } from '../control/guard/contents.ts';
import { feedbackOf, fresh, salinityOf } from '../control/guard/evidence.ts';
import { circulates, strayBoundL } from '../control/guard/flows.ts';
import { type Row, rowOf } from '../control/guard/interlocks.ts';
import { known } from '../control/guard/invariant.ts';
import { ledgersOf } from '../control/guard/ledger.ts';
import { LOW_FLOW_MS } from '../control/guard/limits.ts';
import { underWayL } from '../control/guard/row-kinds.ts';
import type { State } from '../control/process/state.ts';
import type { Plant } from '../station/plant.ts';
import type { Meaning, RowInput } from './contract.ts';

type Show = (plant: Plant, state: State, subject: string) => readonly RowInput[];

const amount = (
  about: string,
  as: Meaning,
  value: number | null,
  limit?: number,
  forbids?: 'above' | 'below',
): RowInput => ({
  input: 'amount',
  about,
  as,
  value: value === null ? null : Number(value.toFixed(3)),
  ...(limit === undefined ? {} : { limit: Number(limit.toFixed(3)) }),
  ...(forbids === undefined ? {} : { forbids }),
});
const fact = (about: string, holds: boolean): RowInput => ({ input: 'fact', about, holds });
const running = (state: State, route: string): RowInput => ({
  input: 'route',
  route,
  running: known(state.routes, route).running,
});
const sensors = (...ids: (string | null | undefined)[]): RowInput[] =>
  ids.flatMap((id) => (typeof id === 'string' ? [{ input: 'sensor', sensor: id } as const] : []));
const floatsOf = (plant: Plant, vessel: string): RowInput[] => {
  const { low, high, overflow } = known(plant.vessels, vessel).floats;
  return sensors(low, high, overflow);
};
const feedback = (plant: Plant, actuator: string): RowInput[] =>
  known(plant.actuators, actuator).feedback === null ? [] : [{ input: 'feedback', actuator }];

const SHOWS: Readonly<Record<string, Show>> = {
  'I-03': (plant, state, id) => {
    const route = known(plant.routes, id);
    const vessel = known(plant.vessels, route.to);
    const held = known(state.vessels, route.to);
    return [
      amount(
        'may hold, with what is under way',
        'volume',
        held.mostL + underWayL(plant, state, route),
        vessel.capacityL - vessel.marginL,
        'above',
      ),
    ];
  },
  'I-04': (_, state, id) => {
    const pipe = known(state.routes, id);
    const runMs = pipe.running === 'yes' ? pipe.runMs : 0;
    // Without a run there is no budget yet: the state holds the largest age instead.
    return pipe.running === 'yes'
      ? [running(state, id), amount('has run for', 'duration', runMs, pipe.runBudgetMs, 'above')]
      : [running(state, id)];
  },
  'I-06': (plant, state, id) => {
    const from = known(plant.vessels, known(plant.routes, id).from);
    return [amount('holds at least', 'volume', known(state.vessels, from.id).leastL, from.minimumL, 'below')];
  },
  'I-07': (plant, state, id) => {
    const route = known(plant.routes, id);
    const pipe = known(state.routes, id);
    return [
      running(state, id),
      amount('flow', 'flow', pipe.flowLpm, route.flowLeastLpm, 'below'),
      amount('too little flow for', 'duration', pipe.lowFlowMs, LOW_FLOW_MS, 'above'),
    ];
  },
  'I-07/starved': (plant, state, id) => {
    const pipe = known(state.routes, id);
    const flow = amount('flow', 'flow', pipe.flowLpm, known(plant.routes, id).flowLeastLpm, 'below');
    return pipe.starvedMs > 0 ? [flow, amount('tried again in', 'duration', pipe.starvedMs)] : [flow];
  },
  'I-08': mismatch,
  'I-09/level': mismatch,
  'I-09': (plant, state, id) => {
    const pipe = known(state.routes, id);
    const bound = strayBoundL(plant, known(plant.routes, id), pipe);
    return [running(state, id), amount('flowed unasked', 'volume', pipe.strayL, bound, 'above')];
  },
  'I-10': (plant, state, id) => {
    const { contradiction } = known(state.vessels, id);
    const words: RowInput[] =
      contradiction === null ? [] : [{ input: 'words', about: 'contradicts', words: contradiction }];
    return [...floatsOf(plant, id), ...sensors(known(plant.vessels, id).level), ...words];
  },
  'I-11': (_, __, id) => sensors(id),
  'I-12': (plant, _, id) => (plant.sensors[id] ? sensors(id) : feedback(plant, id)),
  'I-13': (_, __, id) => sensors(id),
  'I-14': (plant, state, id) => {
    const { excludes, shut } = known(plant.routes, id);
    return [
      ...excludes.map((other) => running(state, other)),
      ...shut.map((device) =>
        fact(`${known(plant.actuators, device).name} is proven off`, known(state.devices, device).provenOff),
      ),
    ];
  },
  'I-15': (plant, state, id) => {
    const route = known(plant.routes, id);
    const pipe = known(state.routes, id);
    return [
      running(state, id),
      ...(pipe.running === 'no'
        ? [amount('has rested for', 'duration', pipe.restMs, route.minimumRestMs, 'below')]
        : []),
      amount('starts left', 'number', pipe.starts, 1, 'below'),
    ];
  },
  'I-16': covered,
  'I-16/on': (plant, state, id) => {
    const { actuator } = known(plant.heaters, id);
    const on = known(state.devices, actuator).on || feedbackOf(plant, state, actuator) === true;
    return [fact('is on', on), ...covered(plant, state, id)];
  },
  'I-17': (plant, state, id) => [
    fact('this batch is accepted', state.batch.accepted),
    fact('circulation is proven', circulates(plant, state, known(plant.heaters, id).vessel)),
  ],
  'I-18': (plant, state, id) => {
    const heater = known(plant.heaters, id);
    const celsius = fresh(plant, state, known(plant.vessels, heater.vessel).temperature);
    return [amount('temperature', 'temperature', celsius, heater.limitC, 'above')];
  },
  'I-19': (_, state, id) => [
    fact('warms as its power would have it', !known(state.heaters, id).frozen),
    fact('rests when it is off', !known(state.heaters, id).welded),
  ],
  'I-20': supplied,
  'I-22': drifted,
  'I-22/far': drifted,
  'I-42': (plant, state, id) => {
    const { from, to, purpose } = known(plant.routes, id);
    const system = purpose === 'supply' ? to : from;
    const work = known(state.exchange, system);
    return [
      amount('drained more than delivered', 'volume', work.differenceL),
      amount('may be off by', 'volume', work.differenceErrorL),
      amount('bound', 'volume', ledgersOf(plant)[system]?.boundL ?? 0),
    ];
  },
  'I-23/stays-on': agrees,
  'I-23/stays-off': agrees,
  'I-24': foreign,
  'I-24/fills': foreign,
  'I-25': (plant, state) => [
    fact('connected to the broker', state.link.up),
    amount('last echo', 'duration', state.link.echoAgeMs, plant.link.provenWithinMs, 'above'),
  ],
  'I-26': (plant, state) => [
    amount('last tick', 'duration', state.link.tickAgeMs, plant.link.tickWithinMs, 'above'),
  ],
  'I-36': (_, state) => [
    fact('something could not be taken over', state.lost.length > 0),
    ...state.lost.map((words): RowInput => ({ input: 'words', about: 'not taken over', words })),
  ],
  'I-27': (_, state) => [fact('the record can be written', state.link.journalWritable)],
  'I-29': (plant, state, id) => {
    const { impureMs } = known(state.routes, id);
    const source = known(plant.vessels, known(plant.routes, id).from);
    const limit = source.purityLimitMsPerCm ?? undefined;
    const value = fresh(plant, state, source.conductivity);
    return [
      amount('purified water', 'conductivity', value, limit, 'above'),
      ...(impureMs > 0 ? [amount('tried again in', 'duration', impureMs)] : []),
    ];
  },
  'I-31': (plant, state, id) => {
    const heater = known(plant.heaters, id);
    return [
      fact('is proven off', known(state.devices, heater.actuator).provenOff),
      amount(
        'holds at least',
        'volume',
        known(state.vessels, heater.vessel).leastL,
        heater.coveredL,
        'below',
      ),
    ];
  },
  'I-32': (_, state, id) => {
    const reason = state.outOfService[id];
    return reason === undefined ? [] : [{ input: 'words', about: 'reason', words: reason }];
  },
  'I-34': disturbed,
  'I-35': (plant, state, id) => [
    fact('is being exercised', state.exercises.run?.valve === id),
    ...feedback(plant, id),
  ],
};

/** What must be proven off while a valve is exercised, as far as it is not. */
function disturbed(plant: Plant, state: State, id: string): RowInput[] {
  const { others } = known(plant.exercises, id);
  return [
    fact(
      'everything that could move water through it is proven off',
      others.every((other) => known(state.devices, other).provenOff),
    ),
    ...others.flatMap((other) => feedback(plant, other)),
  ];
}

function mismatch(plant: Plant, state: State, id: string): RowInput[] {
  const vessel = known(plant.vessels, id);
  const held = known(state.vessels, id);
  return [
    ...sensors(vessel.level),
    amount(
      'water that no flow explains',
      'volume',
      Math.abs(held.mismatchL),
      mismatchBoundL(plant, vessel),
      'above',
    ),
  ];
}

function covered(plant: Plant, state: State, id: string): RowInput[] {
  const heater = known(plant.heaters, id);
  return [
    ...sensors(known(plant.vessels, heater.vessel).floats.low),
    amount('holds at least', 'volume', known(state.vessels, heater.vessel).leastL, heater.coveredL, 'below'),
  ];
}

function supplied(plant: Plant, state: State, id: string): RowInput[] {
  const { from } = known(plant.routes, id);
  const { salinity, temperature, batch } = plant.process;
  const celsius = fresh(plant, state, known(plant.vessels, from).temperature);
  return [
    fact('this batch is accepted', state.batch.accepted),
    amount('salinity', 'salinity', salinityOf(plant, state, from)),
    amount('salinity wanted', 'salinity', salinity.target),
    amount('give or take', 'number', salinity.tolerance),
    amount('age of the batch', 'duration', state.batch.ageMs, batch.ageLimitMs, 'above'),
    ...(temperature === null
      ? []
      : [
          amount('temperature', 'temperature', celsius, temperature.leastC, 'below'),
          amount('temperature', 'temperature', celsius, temperature.mostC, 'above'),
        ]),
  ];
}

function drifted(plant: Plant, state: State, id: string): RowInput[] {
  const route = known(plant.routes, id);
  const system = route.purpose === 'supply' ? route.to : route.from;
  const work = state.exchange[system];
  const aims = plant.process.exchange[system];
  if (work === undefined || aims === undefined) return [];
  return [
    amount('drained more than delivered', 'volume', work.differenceL),
    amount('by design of this step', 'volume', work.stepL),
    amount('bound', 'volume', aims.errorBoundL),
  ];
}

function agrees(plant: Plant, state: State, id: string): RowInput[] {
  const device = known(state.devices, id);
  const within = known(plant.actuators, id).feedback?.withinMs ?? 0;
  return [
    fact('was told to be on', device.on),
    ...feedback(plant, id),
    amount('contradicts for', 'duration', device.disagreesMs, within, 'above'),
  ];
}

function foreign(_: Plant, state: State, id: string): RowInput[] {
  const { foreignMs } = known(state.devices, id);
  const left: RowInput[] = foreignMs > 0 ? [amount('kept off for another', 'duration', foreignMs)] : [];
  return [fact('somebody else commands it', foreignMs > 0), ...left];
}

/** The contact that a person moves for the proof test, and how long ago somebody did. */
function tried(plant: Plant, state: State, tested: string): RowInput[] {
  const { everyMs, graceMs } = plant.policy.proofTests;
  return [
    ...sensors(rowOf(plant, tested)?.proves),
    amount(
      state.proofs.sinceMs[tested] === undefined
        ? 'never tried by hand, since commissioning'
        : 'last tried by hand',
      'duration',
      sinceProven(state, tested),
      everyMs + graceMs,
      'above',
    ),
    fact('a proof test is under way', state.proofs.test?.row === tested),
  ];
}

/** What this row looks at, in the order in which a person would look. */
export function inputsOf(plant: Plant, state: State, row: Row): readonly RowInput[] {
  const [id = '', subject = '', suffix] = row.key.split('/');
  const show = SHOWS[suffix === undefined ? id : `${id}/${suffix}`] ?? SHOWS[id];
  const shown =
    row.tests === undefined ? (show?.(plant, state, subject) ?? []) : tried(plant, state, row.tests);
  const already = new Set(shown.flatMap((one) => (one.input === 'sensor' ? [one.sensor] : [])));
  return [...sensors(...row.needs.filter((need) => !already.has(need))), ...shown];
}
