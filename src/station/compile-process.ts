// What the process aims at, under the names that the plant has for it.
import type { StationValues } from './file/station.ts';
import type { ProcessTargets } from './plant.ts';

export function processOf(process: StationValues['process']): ProcessTargets {
  const { temperature, refill, batch, quietHours } = process;
  return {
    salinity: process.salinity,
    temperature:
      temperature === null
        ? null
        : {
            targetC: temperature.target,
            toleranceK: temperature.tolerance,
            leastC: temperature.least,
            mostC: temperature.most,
            systemMayMoveK: temperature.systemMayMove,
          },
    saltName: process.salt.name,
    saltYield: process.salt.yield,
    refill:
      refill === null
        ? null
        : { startBelowL: refill.startBelow, stopAtL: refill.stopAt, longestRunMs: refill.longestRun },
    batch: {
      contentsL: batch.contents,
      leastL: batch.least,
      dissolveMs: batch.dissolve,
      settleMs: batch.settle,
      steadyWithin: batch.steady.within,
      steadyOverMs: batch.steady.over,
      trims: batch.trims,
      ageLimitMs: batch.ageLimit,
      circulateEveryMs: batch.circulate.every,
      circulateForMs: batch.circulate.lasts,
      measurementServesMs: batch.measurementServes,
    },
    reserveShare: process.reserve,
    exchange: Object.fromEntries(
      Object.entries(process.exchange ?? {}).map(([system, exchange]) => [
        system,
        {
          perDayShare: exchange.perDay,
          stepL: exchange.step,
          largestL: exchange.largest,
          errorBoundL: exchange.errorBound,
          settleMs: exchange.settle,
          inhibitTopOff: exchange.inhibitTopOff,
        },
      ]),
    ),
    quietHours:
      quietHours === null
        ? null
        : {
            fromMinute: minuteOf(quietHours.from),
            toMinute: minuteOf(quietHours.to),
            rest: quietHours.rest,
          },
  };
}

function minuteOf(timeOfDay: string): number {
  return Number(timeOfDay.slice(0, 2)) * 60 + Number(timeOfDay.slice(3));
}
