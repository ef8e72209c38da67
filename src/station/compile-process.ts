// What the process aims at, with the defaults that the schema states.
import type { ExchangeTargets, Plant, ProcessTargets, Route, Vessel } from './plant.ts';
import { readOr, readStation } from './quantities.ts';
import type { Process, StationFile } from './station.generated.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** How much longer than the slowest fill of the whole vat one refill may last before it is a fault. */
const LONGEST_RUN_FACTOR = 1.5;

export interface Surroundings extends Pick<Plant, 'freshId'> {
  readonly vessels: Readonly<Record<string, Vessel>>;
  readonly routes: Readonly<Record<string, Route>>;
}

export function processOf({ process }: StationFile, around: Surroundings): ProcessTargets {
  return {
    salinity: {
      target: readStation(process.salinity.target, 'salinity'),
      tolerance: readStation(process.salinity.tolerance, 'salinity'),
    },
    temperature: temperatureOf(process),
    saltName: process.salt.name ?? 'sea salt',
    saltYield: readStation(process.salt.yield, 'ratio'),
    refill: refillOf(process, around),
    batch: batchOf(process),
    reserveShare: readOr(process.reserve, 'ratio', 0.2),
    exchange: exchangeOf(process, around),
    quietHours:
      process.quietHours === undefined
        ? null
        : {
            fromMinute: minuteOf(process.quietHours.from),
            toMinute: minuteOf(process.quietHours.to),
            rest: process.quietHours.rest,
          },
  };
}

function temperatureOf({ temperature }: Process): ProcessTargets['temperature'] {
  if (temperature === undefined) return null;
  const targetC = readStation(temperature.target, 'temperature');
  return {
    targetC,
    toleranceK: readStation(temperature.tolerance, 'temperature-difference'),
    leastC: readOr(temperature.least, 'temperature', targetC - 10),
    mostC: readOr(temperature.most, 'temperature', targetC + 4),
    systemMayMoveK: readOr(temperature.systemMayMove, 'temperature-difference', 0.3),
  };
}

function refillOf({ refill }: Process, { vessels, routes, freshId }: Surroundings): ProcessTargets['refill'] {
  if (refill === undefined) return null;
  const capacityL = freshId === null ? 0 : (vessels[freshId]?.capacityL ?? 0);
  const flows = Object.values(routes).filter(({ purpose }) => purpose === 'refill');
  const leastLpm = Math.min(...flows.map(({ flowLeastLpm }) => flowLeastLpm));
  return {
    startBelowL: readStation(refill.startBelow, 'volume'),
    stopAtL: readStation(refill.stopAt, 'volume'),
    longestRunMs: readOr(
      refill.longestRun,
      'duration-with-unit',
      Math.ceil((LONGEST_RUN_FACTOR * capacityL * 60_000) / leastLpm),
    ),
  };
}

function batchOf({ batch, salinity }: Process): ProcessTargets['batch'] {
  const contentsL = readStation(batch.contents, 'volume');
  return {
    contentsL,
    leastL: readOr(batch.least, 'volume', contentsL / 2),
    dissolveMs: readStation(batch.dissolve, 'duration-with-unit'),
    settleMs: readStation(batch.settle, 'duration-with-unit'),
    steadyWithin: readOr(batch.steady?.within, 'salinity', readStation(salinity.tolerance, 'salinity') / 2),
    steadyOverMs: readOr(batch.steady?.over, 'duration-with-unit', 5 * 60_000),
    trims: batch.trims ?? 4,
    ageLimitMs: readOr(batch.ageLimit, 'duration-with-unit', 14 * DAY_MS),
    circulateEveryMs: readOr(batch.circulate?.every, 'duration-with-unit', 6 * HOUR_MS),
    circulateForMs: readOr(batch.circulate?.lasts, 'duration-with-unit', 10 * 60_000),
    measurementServesMs: readOr(batch.measurementServes, 'duration-with-unit', 12 * HOUR_MS),
  };
}

function exchangeOf({ exchange }: Process, { vessels }: Surroundings): Record<string, ExchangeTargets> {
  return Object.fromEntries(
    Object.entries(exchange ?? {}).map(([system, file]) => {
      const stepL = readStation(file.step, 'volume');
      return [
        system,
        {
          perDayShare: readStation(file.perDay, 'ratio'),
          stepL,
          largestL: readOr(file.largest, 'volume', (vessels[system]?.volumeL ?? 0) / 2),
          errorBoundL: readOr(file.errorBound, 'volume', stepL),
          settleMs: readOr(file.settle, 'duration-with-unit', 30_000),
          inhibitTopOff: file.inhibitTopOff ?? null,
        },
      ];
    }),
  );
}

function minuteOf(timeOfDay: string): number {
  return Number(timeOfDay.slice(0, 2)) * 60 + Number(timeOfDay.slice(3));
}
