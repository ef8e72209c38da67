// Changing water.
import {
  afterExchange,
  CHANGE_SHARE,
  CHANGES,
  CONCENTRATION,
  changesNeeded,
  concentrationAfterMgPerL,
  DAYS,
  type Drift,
  daysOfAutonomy,
  driftedContents,
  equalShare,
  INTERVAL,
  largestShareForTemperature,
  PART_SHARE,
  PRODUCTION,
  REMAINING,
  SYSTEM_TEMPERATURE,
  settledPeakMgPerL,
  soluteRemainingBatch,
  soluteRemainingContinuous,
  soluteRemainingFillFirst,
  TOLERANCE,
  TURNOVER,
  VOLUMES_EXCHANGED,
  volumesNeeded,
} from '../engineering/exchange.ts';
import { CONTENTS, FLOW, MINUTES, SHARE, VOLUME } from '../engineering/range.ts';
import { PRACTICAL_SALINITY } from '../engineering/seawater.ts';
import { brief, type Entry, entry, input, type Outcome, type QuantityInput } from './entry.ts';

const BATCH = 'mass balance of repeated replacement, (1 - v/V)^n';
const STIRRED_TANK =
  'washout of a stirred tank (Danckwerts 1953, Chem. Eng. Sci. 2, 1; Levenspiel, Chemical Reaction Engineering)';

const changes = input.number(CHANGES, 'how many');
const share = input.ratio(SHARE, "of the system's volume in each change");
const partShare = input.ratio(PART_SHARE, "of the system's volume in each change");
const remaining = input.ratio(REMAINING, 'share of the old solute that may stay');
const days = (about: string, range = DAYS): QuantityInput => ({
  dimension: 'duration',
  unit: 'd',
  range,
  about,
});
const concentration = (about: string): QuantityInput => ({
  dimension: 'mass-concentration',
  unit: 'mg/L',
  range: CONCENTRATION,
  about,
});
const production: QuantityInput = {
  dimension: 'production',
  unit: 'mg/(L d)',
  range: PRODUCTION,
  about: 'what the system adds to its own water',
};
const perDay = (about: string): QuantityInput => ({
  dimension: 'flow',
  unit: 'L/d',
  range: { ...CONTENTS, unit: 'L/d' },
  about,
});

const drift = {
  volume: input.volume(VOLUME, 'of the system now'),
  practicalSalinity: input.salinity(PRACTICAL_SALINITY, 'of the system now'),
  inflow: input.flow(FLOW, 'of new water'),
  incomingPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'of the new water'),
  outflow: input.flow(FLOW, 'of old water'),
  time: { dimension: 'duration', unit: 'min', range: MINUTES, about: 'from now' },
  capacity: input.volume(VOLUME, 'at which the system overflows'),
} as const;

function drifted(
  v: { readonly [Name in keyof typeof drift]: number },
  side: 'volumeL' | 'salinity',
): Outcome {
  const answer: Drift = driftedContents(
    v.volume,
    v.practicalSalinity,
    v.inflow,
    v.incomingPracticalSalinity,
    v.outflow,
    v.time,
    v.capacity,
  );
  return answer.kind === 'contents'
    ? answer[side]
    : { value: null, note: `the system ${answer.kind} after ${brief(answer.afterMinutes)} min` };
}

export const EXCHANGE: Readonly<Record<string, Entry>> = {
  'solute-remaining-batch': entry({
    about: 'Share of the old solute left after changes that draw first and then fill',
    inputs: { changes, share },
    dimension: 'ratio',
    unit: '1',
    source: BATCH,
    compute: (v) => soluteRemainingBatch(v.changes, v.share),
  }),
  'solute-remaining-fill-first': entry({
    about: 'The same when new water is put in before the old is drawn',
    inputs: { changes, share },
    dimension: 'ratio',
    unit: '1',
    source: 'mass balance, (V/(V + v))^n',
    compute: (v) => soluteRemainingFillFirst(v.changes, v.share),
  }),
  'solute-remaining-continuous': entry({
    about: 'Share of the old solute left after a trickle in and out at equal flows',
    inputs: { volumesExchanged: input.number(VOLUMES_EXCHANGED, "water exchanged over the system's volume") },
    dimension: 'ratio',
    unit: '1',
    source: STIRRED_TANK,
    compute: (v) => soluteRemainingContinuous(v.volumesExchanged),
  }),
  'changes-needed': entry({
    about: 'Changes that bring the solute down to a share; round up',
    inputs: {
      remaining,
      share: partShare,
    },
    dimension: 'number',
    unit: '1',
    source: BATCH,
    compute: (v) => changesNeeded(v.remaining, v.share),
  }),
  'volumes-needed': entry({
    about: 'System volumes of a trickle that bring the solute down to a share',
    inputs: { remaining },
    dimension: 'number',
    unit: '1',
    source: STIRRED_TANK,
    compute: (v) => volumesNeeded(v.remaining),
  }),
  'equal-share': entry({
    about: 'Share at which changes at another interval do the same',
    inputs: {
      share: partShare,
      interval: days('between those changes', INTERVAL),
      otherInterval: days('between the others', INTERVAL),
    },
    dimension: 'ratio',
    unit: '1',
    source: BATCH,
    compute: (v) => equalShare(v.share, v.interval, v.otherInterval),
  }),
  'salinity-after-changes': entry({
    about: 'Practical salinity of a system after batch changes',
    inputs: {
      practicalSalinity: input.salinity(PRACTICAL_SALINITY, 'of the system now'),
      incomingPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'of the new water'),
      changes,
      share,
    },
    dimension: 'practical-salinity',
    unit: '1',
    source: BATCH,
    compute: (v) =>
      afterExchange(
        v.practicalSalinity,
        v.incomingPracticalSalinity,
        soluteRemainingBatch(v.changes, v.share),
      ),
  }),
  'temperature-after-exchange': entry({
    about: 'Temperature of a system just after one change with water of another temperature',
    inputs: {
      systemTemperature: input.temperature(SYSTEM_TEMPERATURE, 'of the system'),
      incomingTemperature: input.temperature(SYSTEM_TEMPERATURE, 'of the new water'),
      share,
    },
    dimension: 'temperature',
    unit: 'degC',
    source: 'energy balance, equal densities and specific heats',
    compute: (v) =>
      afterExchange(v.systemTemperature, v.incomingTemperature, soluteRemainingBatch(1, v.share)),
  }),
  'largest-share-for-temperature': entry({
    about: "Largest change that keeps the system's temperature within a tolerance",
    inputs: {
      tolerance: {
        dimension: 'temperature-difference',
        unit: 'K',
        range: TOLERANCE,
        about: 'the system may change by',
      },
      systemTemperature: input.temperature(SYSTEM_TEMPERATURE, 'of the system'),
      incomingTemperature: input.temperature(SYSTEM_TEMPERATURE, 'of the new water'),
    },
    dimension: 'ratio',
    unit: '1',
    source: 'energy balance, equal densities and specific heats',
    compute: (v) => largestShareForTemperature(v.tolerance, v.systemTemperature, v.incomingTemperature),
  }),
  'concentration-with-production': entry({
    about: 'Concentration under a trickle while the system goes on producing',
    inputs: {
      concentration: concentration('in the system now'),
      incomingConcentration: concentration('in the new water'),
      production,
      turnover: { dimension: 'rate', unit: '1/d', range: TURNOVER, about: 'volumes exchanged per day' },
      time: days('from now'),
    },
    dimension: 'mass-concentration',
    unit: 'mg/L',
    source: STIRRED_TANK,
    compute: (v) =>
      concentrationAfterMgPerL(v.concentration, v.incomingConcentration, v.production, v.turnover, v.time),
  }),
  'settled-peak-concentration': entry({
    about: 'Where batch changes of a producing system settle, just before a change',
    inputs: {
      incomingConcentration: concentration('in the new water'),
      production,
      share: input.ratio(CHANGE_SHARE, "of the system's volume in each change"),
      interval: days('between changes', INTERVAL),
    },
    dimension: 'mass-concentration',
    unit: 'mg/L',
    source: BATCH,
    compute: (v) => settledPeakMgPerL(v.incomingConcentration, v.production, v.share, v.interval),
  }),
  'drifted-salinity': entry({
    about: 'Practical salinity while water flows in and out at flows that need not match',
    inputs: drift,
    dimension: 'practical-salinity',
    unit: '1',
    source: 'well-mixed balance, constant density',
    compute: (v) => drifted(v, 'salinity'),
  }),
  'drifted-volume': entry({
    about: 'Volume while water flows in and out at flows that need not match',
    inputs: drift,
    dimension: 'volume',
    unit: 'L',
    source: 'volume balance',
    compute: (v) => drifted(v, 'volumeL'),
  }),
  'days-of-autonomy': entry({
    about: 'How long water on hand lasts',
    inputs: {
      waterOnHand: input.volume(CONTENTS, 'to be used'),
      dailyUse: perDay('used'),
      dailyMade: { ...perDay('made'), default: 0 },
    },
    dimension: 'duration',
    unit: 'd',
    source: 'volume balance',
    compute: (v) => {
      const answer = daysOfAutonomy(v.waterOnHand, v.dailyUse, v.dailyMade);
      return answer.kind === 'lasts'
        ? answer.days
        : { value: null, note: 'for ever: as much is made as is used' };
    },
  }),
};
