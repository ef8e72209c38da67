// What was assumed because the file does not say it: each default that counts on this station, with the value that it came
// to and the place where another one would be stated. `check` prints it: a tolerance that nobody wrote decides as much as one
// that somebody did.
import type { Plant, Sensor } from './plant.ts';
import type { StationFile } from './station.generated.ts';

export interface Assumed {
  /** JSON Pointer to where it would be stated. */
  readonly at: string;
  /** With its unit. */
  readonly value: string;
  /** The same place with `*` for the id, and the id; '' where there is none. */
  readonly key: string;
  readonly of: string;
}

interface AssumedRow {
  /** Which default of the schema this is, as `test/station/defaults.test.ts` names it. */
  readonly states: string;
  /** Where it is stated; `*` stands for each id. */
  readonly at: string;
  /** What it came to; null where it counts for nothing. */
  readonly value: (plant: Plant, id: string) => string | null;
}

export function assumedIn(plant: Plant, station: StationFile): readonly Assumed[] {
  return ASSUMED_ROWS.flatMap(({ at, value }) =>
    placesOf(station, at).flatMap(({ pointer, id, isStated }) => {
      const text = isStated ? null : value(plant, id);
      return text === null ? [] : [{ at: pointer, value: text, key: at, of: id }];
    }),
  );
}

/** One line for each value: what it is, where it was assumed, and where another one is stated. */
export function assumedLines(assumed: readonly Assumed[]): readonly string[] {
  const groups = new Map<string, Assumed[]>();
  for (const one of assumed) {
    const key = `${one.key} ${one.value}`;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups.values()].flatMap((group) => {
    const [first] = group;
    if (first === undefined) return [];
    const who = group.map(({ of }) => of).filter(Boolean);
    return [
      `${first.key.replace('*', 'ID')}  ${first.value}${who.length > 0 ? `  (${who.join(', ')})` : ''}`,
    ];
  });
}

const number = (value: number): string => String(Number(value.toPrecision(4)));
const litres = (value: number): string => `${number(value)} L`;
const percent = (share: number): string => `${number(100 * share)} %`;
const SPANS = [
  ['d', 86_400_000],
  ['h', 3_600_000],
  ['min', 60_000],
  ['s', 1_000],
] as const;
/** In the largest unit that says it without a fraction; what has one in every unit is said in hours, or in seconds. */
function span(ms: number): string {
  const whole = SPANS.find(([, spanMs]) => ms >= spanMs && ms % spanMs === 0);
  const [unit, spanMs] = (ms % 60_000 === 0 ? whole : undefined) ?? (ms >= 3_600_000 ? SPANS[1] : SPANS[3]);
  return `${number(ms / spanMs)} ${unit}`;
}

type Kind<M extends Sensor['measures']> = Extract<Sensor, { measures: M }>;
/** Of sensors of these kinds, and of no others. */
function sensed<M extends Sensor['measures']>(
  kinds: readonly M[],
  read: (sensor: Kind<M>) => string,
): AssumedRow['value'] {
  return ({ sensors }, id) => {
    const sensor = sensors[id];
    const isMeant = sensor !== undefined && (kinds as readonly string[]).includes(sensor.measures);
    return isMeant ? read(sensor as Kind<M>) : null;
  };
}
const bounded =
  (read: (vessel: Plant['vessels'][string]) => string): AssumedRow['value'] =>
  ({ vessels }, id) => {
    const vessel = vessels[id];
    return vessel === undefined || !Number.isFinite(vessel.capacityL) ? null : read(vessel);
  };
const route =
  (read: (route: Plant['routes'][string]) => string): AssumedRow['value'] =>
  ({ routes }, id) => {
    const one = routes[id];
    return one === undefined ? null : read(one);
  };
const exchanged =
  (read: (aims: Plant['process']['exchange'][string]) => string): AssumedRow['value'] =>
  ({ process }, id) => {
    const aims = process.exchange[id];
    return aims === undefined ? null : read(aims);
  };
const CONTACTS = ['float', 'leak', 'top-off'] as const;

// biome-ignore format: a table reads as a table
export const ASSUMED_ROWS: readonly AssumedRow[] = [
  { states: 'Vessel/margin', at: '/vessels/*/margin', value: bounded(({ marginL }) => litres(marginL)) },
  { states: 'Vessel/minimum', at: '/vessels/*/minimum', value: bounded(({ minimumL }) => litres(minimumL)) },
  { states: 'Route/flow/usual', at: '/routes/*/flow/usual', value: route(({ flowUsualLpm }) => `${number(flowUsualLpm)} L/min`) },
  { states: 'Route/priming', at: '/routes/*/priming', value: route(({ primingMs }) => span(primingMs)) },
  { states: 'Route/runDown', at: '/routes/*/runDown', value: route(({ runDownMs }) => span(runDownMs)) },
  { states: 'Route/minimumRun', at: '/routes/*/minimumRun', value: route(({ minimumRunMs }) => span(minimumRunMs)) },
  { states: 'Route/minimumRest', at: '/routes/*/minimumRest', value: route(({ minimumRestMs }) => span(minimumRestMs)) },
  { states: 'Route/startsPerHour', at: '/routes/*/startsPerHour', value: route(({ startsPerHour }) => `${startsPerHour}`) },
  { states: 'Heater/lag', at: '/heaters/*/lag', value: ({ heaters }, id) => span(heaters[id]?.lagMs ?? 0) },
  { states: 'Heater/losses', at: '/heaters/*/losses', value: ({ heaters }, id) => `${number(heaters[id]?.lossWPerK ?? 0)} W/K` },
  { states: 'FloatSensor/tolerance', at: '/sensors/*/tolerance', value: sensed(['float'], ({ toleranceL }) => litres(toleranceL)) },
  { states: 'Believe/start', at: '/sensors/*/believe/start', value: sensed(CONTACTS, ({ believeStartMs }) => span(believeStartMs)) },
  { states: 'Believe/stop', at: '/sensors/*/believe/stop', value: sensed(CONTACTS, ({ believeStopMs }) => span(believeStopMs)) },
  { states: 'MaxAge', at: '/sensors/*/maxAge', value: ({ sensors }, id) => span(sensors[id]?.maxAgeMs ?? 0) },
  { states: 'FlowSensor/uncertainty', at: '/sensors/*/uncertainty', value: sensed(['flow'], ({ uncertainty }) => percent(uncertainty)) },
  { states: 'FlowSensor/zero', at: '/sensors/*/zero', value: sensed(['flow'], ({ zeroLpm }) => `${number(zeroLpm)} L/min`) },
  { states: 'TotalSensor/uncertainty', at: '/sensors/*/uncertainty', value: sensed(['total'], ({ uncertainty }) => percent(uncertainty)) },
  { states: 'TotalSensor/lostAtStart', at: '/sensors/*/lostAtStart', value: sensed(['total'], ({ lostAtStartL }) => litres(lostAtStartL)) },
  { states: 'TemperatureSensor/uncertainty', at: '/sensors/*/uncertainty', value: sensed(['temperature'], ({ uncertaintyK }) => `${number(uncertaintyK)} K`) },
  { states: 'ConductivitySensor/validFor', at: '/sensors/*/validFor', value: sensed(['conductivity'], ({ validForMs }) => span(validForMs)) },
  { states: 'Actuator/feedback/within', at: '/actuators/*/feedback/within', value: ({ actuators }, id) => { const feedback = actuators[id]?.feedback ?? null; return feedback === null ? null : span(feedback.withinMs); } },
  { states: 'MaxAge', at: '/actuators/*/feedback/maxAge', value: ({ actuators }, id) => { const feedback = actuators[id]?.feedback ?? null; return feedback === null ? null : span(feedback.maxAgeMs); } },
  { states: 'Actuator/offProvenBy', at: '/actuators/*/offProvenBy', value: ({ actuators }, id) => actuators[id]?.offProvenBy ?? null },
  { states: 'Actuator/exercise/every', at: '/actuators/*/exercise/every', value: ({ exercises }, id) => (exercises[id] === undefined ? null : span(exercises[id].everyMs)) },
  { states: 'Actuator/exercise/for', at: '/actuators/*/exercise/for', value: ({ exercises }, id) => (exercises[id] === undefined ? null : span(exercises[id].opensForMs)) },
  { states: 'HandValve/every', at: '/handValves/*/every', value: ({ exercises }, id) => (exercises[id] === undefined ? null : span(exercises[id].everyMs)) },
  { states: 'Process/temperature/least', at: '/process/temperature/least', value: ({ process }) => (process.temperature === null ? null : `${number(process.temperature.leastC)} degC`) },
  { states: 'Process/temperature/most', at: '/process/temperature/most', value: ({ process }) => (process.temperature === null ? null : `${number(process.temperature.mostC)} degC`) },
  { states: 'Process/temperature/systemMayMove', at: '/process/temperature/systemMayMove', value: ({ process }) => (process.temperature === null ? null : `${number(process.temperature.systemMayMoveK)} K`) },
  { states: 'Process/refill/longestRun', at: '/process/refill/longestRun', value: ({ process }) => (process.refill === null ? null : span(process.refill.longestRunMs)) },
  { states: 'Process/batch/least', at: '/process/batch/least', value: ({ process }) => litres(process.batch.leastL) },
  { states: 'Process/batch/steady', at: '/process/batch/steady', value: ({ process }) => `${number(process.batch.steadyWithin)} PSU over ${span(process.batch.steadyOverMs)}` },
  { states: 'Process/batch/trims', at: '/process/batch/trims', value: ({ process }) => `${process.batch.trims}` },
  { states: 'Process/batch/ageLimit', at: '/process/batch/ageLimit', value: ({ process }) => span(process.batch.ageLimitMs) },
  { states: 'Process/batch/circulate', at: '/process/batch/circulate', value: ({ process }) => `${span(process.batch.circulateForMs)} every ${span(process.batch.circulateEveryMs)}` },
  { states: 'Process/batch/measurementServes', at: '/process/batch/measurementServes', value: ({ process }) => span(process.batch.measurementServesMs) },
  { states: 'Process/reserve', at: '/process/reserve', value: ({ process }) => percent(process.reserveShare) },
  { states: 'Exchange/largest', at: '/process/exchange/*/largest', value: exchanged(({ largestL }) => litres(largestL)) },
  { states: 'Exchange/errorBound', at: '/process/exchange/*/errorBound', value: exchanged(({ errorBoundL }) => litres(errorBoundL)) },
  { states: 'Exchange/settle', at: '/process/exchange/*/settle', value: exchanged(({ settleMs }) => span(settleMs)) },
  { states: 'Policy/starts', at: '/policy/starts/refill', value: ({ process, policy }) => (process.refill === null ? null : policy.starts.refill) },
  { states: 'Policy/starts', at: '/policy/starts/batch', value: ({ policy }) => policy.starts.batch },
  { states: 'Policy/starts', at: '/policy/starts/exchange', value: ({ policy }) => policy.starts.exchange },
  { states: 'Policy/restarts/afterLinkLoss', at: '/policy/restarts/afterLinkLoss', value: ({ policy }) => policy.restarts.afterLinkLoss },
  { states: 'Policy/restarts/afterPowerCut', at: '/policy/restarts/afterPowerCut', value: ({ policy }) => policy.restarts.afterPowerCut },
  { states: 'Policy/restarts/evidenceStandsFor', at: '/policy/restarts/evidenceStandsFor', value: ({ policy }) => span(policy.restarts.evidenceStandsForMs) },
  { states: 'Policy/restarts/perDay', at: '/policy/restarts/perDay', value: ({ policy }) => `${policy.restarts.perDay}` },
  { states: 'Policy/proofTests/every', at: '/policy/proofTests/every', value: ({ policy }) => span(policy.proofTests.everyMs) },
  { states: 'Policy/proofTests/grace', at: '/policy/proofTests/grace', value: ({ policy }) => span(policy.proofTests.graceMs) },
  { states: 'Link/provenWithin', at: '/link/provenWithin', value: ({ link }) => span(link.provenWithinMs) },
  { states: 'Link/tickWithin', at: '/link/tickWithin', value: ({ link }) => span(link.tickWithinMs) },
];

interface StatedPlace {
  readonly pointer: string;
  /** What the `*` stands for; '' where there is none. */
  readonly id: string;
  readonly isStated: boolean;
}

/** Every place of this file that a pointer with a `*` means. */
function placesOf(station: StationFile, at: string): readonly StatedPlace[] {
  const keys = at.split('/').slice(1);
  const star = keys.indexOf('*');
  const parent = star < 0 ? null : valueAt(station, keys.slice(0, star));
  const ids = star < 0 ? [''] : Object.keys(parent ?? {});
  return ids.map((id) => {
    const path = keys.map((key) => (key === '*' ? id : key));
    return { pointer: `/${path.join('/')}`, id, isStated: valueAt(station, path) !== undefined };
  });
}

const valueAt = (part: unknown, path: readonly string[]): object | undefined =>
  path.reduce<unknown>((here, key) => (here as Record<string, unknown> | undefined)?.[key], part) as
    | object
    | undefined;
