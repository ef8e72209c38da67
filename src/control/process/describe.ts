// The state in words and numbers for people and hubs: plain JSON, rounded to what means something. It decides nothing.

import type { Told } from '../../language/told.ts';
import type { Plant } from '../../station/plant.ts';
import { feedbackOf, fresh, isFresh, salinityOf } from '../guard/evidence.ts';
import { rowOf } from '../guard/interlocks.ts';
import { known } from '../guard/invariant.ts';
import { type Message, message, tenths } from '../guard/message.ts';
import { expectedYield } from '../guard/salt-yield.ts';
import type { Task } from '../guard/types.ts';
import {
  type AlarmLoad,
  alarmLoad,
  type BypassStatus,
  bypassStatus,
  type ExerciseStatus,
  exerciseStatus,
  type ProofStatus,
  proofStatus,
  type UpkeepStatus,
  upkeepStatus,
} from './describe-protection.ts';
import { type Forecast, forecast, type Part, timetable } from './forecast.ts';
import type { AlarmRecord, State, UnitState } from './state.ts';

export interface Why {
  readonly row: string;
  readonly words: Message;
}

export interface Status {
  readonly station: string;
  readonly name: string;
  readonly link: { readonly proven: boolean; readonly timeTrusted: boolean };
  readonly units: {
    readonly refill: UnitStatus;
    readonly batch: UnitStatus & {
      readonly stage: string;
      readonly number: number;
      readonly accepted: boolean;
      readonly ageHours: number;
      readonly trims: number;
      readonly saltAddedKg: number;
      readonly yieldKgPerKg: number;
      readonly systemShiftK: number | null;
    };
    readonly exchange: Readonly<Record<string, UnitStatus & ExchangeStatus>>;
  };
  readonly vessels: Readonly<Record<string, VesselStatus>>;
  readonly routes: Readonly<Record<string, RouteStatus>>;
  readonly heaters: Readonly<Record<string, { on: boolean; allowed: boolean; why: readonly Why[] }>>;
  readonly sensors: Readonly<
    Record<string, { value: number | boolean | null; fresh: boolean; fault: string | null }>
  >;
  readonly actuators: Readonly<Record<string, { on: boolean; provenOff: boolean; feedback: boolean | null }>>;
  readonly outOfService: Readonly<Record<string, string>>;
  readonly task: Task | null;
  readonly trips: readonly Why[];
  readonly alarms: readonly (Pick<AlarmRecord, 'state' | 'priority' | 'words' | 'response' | 'silenced'> & {
    readonly alarm: string;
    /** While shelved: it is back after this. */
    readonly shelvedMinutes: number;
  })[];
  readonly alarmLoad: AlarmLoad;
  readonly bypasses: readonly BypassStatus[];
  readonly proofTests: ProofStatus;
  /** Valves that must move now and then. */
  readonly exercises: Readonly<Record<string, ExerciseStatus>>;
  /** What alarms left to be done later, until somebody says that it is done. */
  readonly upkeep: readonly UpkeepStatus[];
  readonly forecast: Forecast;
  /** Who has said that they are on the way, and for how long nobody else is called. */
  readonly coming: { readonly who: string; readonly minutes: number } | null;
  /** What a restart or a lost link left open; empty when everything is known. */
  readonly unknown: readonly Message[];
}

/** As it goes over the wire and to pages: sentences, and beside them what they mean. */
export type ToldStatus = Told<Status>;

export interface UnitStatus {
  readonly procedure: string;
  readonly words: Message;
}
interface ExchangeStatus {
  readonly step: string;
  readonly dueL: number;
  readonly requestedL: number;
  readonly differenceL: number;
  readonly differenceErrorL: number;
  readonly todayL: number;
  readonly yesterdayL: number;
  readonly steps: number;
  readonly timetable: readonly Part[];
}
interface VesselStatus {
  readonly leastL: number;
  readonly mostL: number;
  readonly salinity: number | null;
  readonly temperatureC: number | null;
}
interface RouteStatus {
  readonly running: 'no' | 'maybe' | 'yes';
  readonly flowLpm: number | null;
  readonly allowed: boolean;
  readonly why: readonly Why[];
}

const comingOf = ({ telling: { coming } }: State): Status['coming'] =>
  coming === null ? null : { who: coming.who, minutes: Math.ceil(coming.leftMs / 60_000) };

const to = (value: number, digits: number): number => Number(value.toFixed(digits));
const orNull = (value: number | null, digits: number): number | null =>
  value === null ? null : to(value, digits);

export function describe(plant: Plant, state: State): Status {
  const { batch, refill } = state;
  return {
    station: plant.id,
    name: plant.name,
    link: {
      proven: state.link.up && state.link.echoAgeMs <= plant.link.provenWithinMs,
      timeTrusted: state.clock.trusted,
    },
    units: {
      refill: unit(refill),
      batch: {
        ...unit(batch),
        stage: batch.stage,
        number: batch.number,
        accepted: batch.accepted,
        ageHours: to(batch.ageMs / 3_600_000, 1),
        trims: batch.trims,
        saltAddedKg: to(batch.saltAddedKg, 3),
        yieldKgPerKg: to(expectedYield(plant, state), 3),
        systemShiftK: orNull(batch.systemShiftK, 2),
      },
      exchange: mapped(state.exchange, (_, id) => exchangeStatus(plant, state, id)),
    },
    vessels: mapped(state.vessels, (held, id) => ({
      leastL: to(held.leastL, 1),
      mostL: to(held.mostL, 1),
      salinity: orNull(salinityOf(plant, state, id), 2),
      temperatureC: orNull(fresh(plant, state, known(plant.vessels, id).temperature), 1),
    })),
    routes: mapped(state.routes, (pipe, id) => ({
      running: pipe.running,
      flowLpm: orNull(pipe.flowLpm, 2),
      allowed: state.verdicts[id] === undefined,
      why: why(plant, state.verdicts[id] ?? []),
    })),
    heaters: mapped(state.heaters, (_, id) => ({
      on: known(state.devices, known(plant.heaters, id).actuator).on,
      allowed: state.verdicts[id] === undefined,
      why: why(plant, state.verdicts[id] ?? []),
    })),
    sensors: mapped(state.sensors, (seen, id) => ({
      value: typeof seen.value === 'number' ? to(seen.value, 3) : seen.value,
      fresh: isFresh(plant, state, id),
      fault: seen.fault,
    })),
    actuators: mapped(state.devices, (device, id) => ({
      on: device.on,
      provenOff: device.provenOff,
      feedback: feedbackOf(plant, state, id),
    })),
    outOfService: state.outOfService,
    task: taskNow(plant, state),
    trips: why(plant, Object.keys(state.trips)).map(({ row, words }) => ({
      row,
      // The alarm knows what showed when it tripped.
      words: state.alarms[row]?.words ?? words,
    })),
    alarms: Object.entries(state.alarms)
      .filter(([, record]) => record.state !== 'normal')
      .map(([alarm, { state: at, priority, words, response, silenced, shelvedMs }]) => ({
        alarm,
        state: at,
        priority,
        words,
        response,
        silenced,
        shelvedMinutes: Math.ceil(shelvedMs / 60_000),
      })),
    alarmLoad: alarmLoad(state),
    bypasses: bypassStatus(plant, state),
    proofTests: proofStatus(plant, state),
    exercises: exerciseStatus(plant, state),
    upkeep: upkeepStatus(state),
    forecast: forecast(plant, state),
    coming: comingOf(state),
    unknown: unknowns(plant, state),
  };
}

const unit = ({ procedure, words }: UnitState): UnitStatus => ({ procedure, words });

function exchangeStatus(plant: Plant, state: State, id: string): UnitStatus & ExchangeStatus {
  const work = known(state.exchange, id);
  return {
    ...unit(work),
    step: work.step,
    dueL: to(Math.max(0, work.dueL), 1),
    requestedL: to(work.requestedL, 1),
    differenceL: to(work.differenceL, 2),
    differenceErrorL: to(work.differenceErrorL, 2),
    todayL: to(work.todayL, 1),
    yesterdayL: to(work.yesterdayL, 1),
    steps: work.steps,
    timetable: timetable(plant, state, id),
  };
}

const mapped = <A, B>(
  record: Readonly<Record<string, A>>,
  make: (item: A, id: string) => B,
): Record<string, B> => Object.fromEntries(Object.entries(record).map(([id, item]) => [id, make(item, id)]));

const why = (plant: Plant, keys: readonly string[]): Why[] =>
  keys.map((key) => ({ row: key, words: rowOf(plant, key)?.words ?? message('the-row', { row: key }) }));

/** What a person is asked: at the mixing vat, where a batch waits; else at any other vessel. */
const taskNow = (plant: Plant, { tasks }: State): Task | null =>
  [plant.mixingId, ...plant.systemIds].flatMap((id) => tasks[id] ?? [])[0] ?? null;

/** A pump that may be running, a meter that has not spoken since it may have run: what nobody can know yet. */
function unknowns(plant: Plant, state: State): Message[] {
  const open = Object.entries(state.routes).flatMap(([id, pipe]) => {
    const maybe = pipe.running === 'maybe' ? [message('whether-route-runs', { route: id })] : [];
    const wide = pipe.pendingMostL - pipe.pendingLeastL > 0.5 && pipe.running !== 'yes';
    return wide
      ? [...maybe, message('may-have-passed', { volumeL: tenths(pipe.pendingMostL), route: id })]
      : maybe;
  });
  const wide = Object.entries(state.vessels).filter(
    ([id, held]) => held.mostL - held.leastL > known(plant.vessels, id).capacityL / 2,
  );
  return [...state.lost, ...open, ...wide.map(([id]) => message('contents-of', { vessel: id }))];
}
