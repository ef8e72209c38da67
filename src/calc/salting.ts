// Salt and fresh water to put in.

import { BRINE_SALINITY } from '../engineering/properties.ts';
import { VOLUME, YIELD } from '../engineering/range.ts';
import {
  blendedPracticalSalinity,
  freshWaterToDiluteL,
  practicalSalinityAfterSalting,
  SALT,
  salinityByDilution,
  saltMassForFinalVolumeKg,
  saltMassKg,
  volumeAfterSaltingL,
  waterForFinalVolumeL,
  waterToReplaceL,
} from '../engineering/salting.ts';
import { DENSITY_TEMPERATURE, PRACTICAL_SALINITY } from '../engineering/seawater.ts';
import { batchYield, FEWEST_BATCHES, learnedYield, SALT_ADDED } from '../engineering/yield.ts';
import { brief, type Entry, entry, input, type QuantityInput } from './entry.ts';

const BALANCE = 'mass balance of salt; Millero & Poisson 1981; Millero et al. 2008';

const temperature = input.temperature(DENSITY_TEMPERATURE);
const volume = input.volume(VOLUME, 'of the water now');
const finalVolume = input.volume(VOLUME, 'wanted when the salt is in');
const BRINE_BALANCE = `${BALANCE}; beyond 42 density by IAPWS R13-08`;

const present = input.salinity(PRACTICAL_SALINITY, 'practical salinity now');
const tooSalt = input.salinity(
  BRINE_SALINITY,
  'practical salinity now; beyond 42 by mass, g/kg over 1.00472',
);
const target = input.salinity(PRACTICAL_SALINITY, 'practical salinity wanted');
const saltYield = input.ratio(
  YIELD,
  'sea salts that dissolve out of dry product; below 1 for hydrated or moist salt',
);
const salt = (about: string, range = SALT): QuantityInput => ({
  dimension: 'mass',
  unit: 'kg',
  range,
  about,
});

export const SALTING: Readonly<Record<string, Entry>> = {
  'salt-mass': entry({
    about: 'Dry product that raises a volume of water to a salinity',
    inputs: {
      volume,
      presentPracticalSalinity: present,
      targetPracticalSalinity: target,
      temperature,
      yield: saltYield,
    },
    dimension: 'mass',
    unit: 'kg',
    source: BALANCE,
    compute: (v) =>
      saltMassKg(v.volume, v.presentPracticalSalinity, v.targetPracticalSalinity, v.temperature, v.yield),
  }),
  'practical-salinity-after-salting': entry({
    about: 'Practical salinity after dissolving dry product',
    inputs: {
      volume,
      presentPracticalSalinity: present,
      saltMass: salt('dry product put in'),
      temperature,
      yield: saltYield,
    },
    dimension: 'practical-salinity',
    unit: '1',
    source: BALANCE,
    compute: (v) =>
      practicalSalinityAfterSalting(v.volume, v.presentPracticalSalinity, v.saltMass, v.temperature, v.yield),
  }),
  'volume-after-salting': entry({
    about: 'Volume after salting; a vat filled to the brim before runs over',
    inputs: {
      volume,
      presentPracticalSalinity: present,
      targetPracticalSalinity: target,
      temperature,
      yield: saltYield,
    },
    dimension: 'volume',
    unit: 'L',
    source: BALANCE,
    compute: (v) =>
      volumeAfterSaltingL(
        v.volume,
        v.presentPracticalSalinity,
        v.targetPracticalSalinity,
        v.temperature,
        v.yield,
      ),
  }),
  'salt-mass-for-final-volume': entry({
    about: 'Dry product for a wanted final volume, starting from pure water',
    inputs: { finalVolume, targetPracticalSalinity: target, temperature, yield: saltYield },
    dimension: 'mass',
    unit: 'kg',
    source: BALANCE,
    compute: (v) =>
      saltMassForFinalVolumeKg(v.finalVolume, v.targetPracticalSalinity, v.temperature, v.yield),
  }),
  'water-for-final-volume': entry({
    about: 'Pure water to start from for a wanted final volume',
    inputs: { finalVolume, targetPracticalSalinity: target, temperature, yield: saltYield },
    dimension: 'volume',
    unit: 'L',
    source: BALANCE,
    compute: (v) => waterForFinalVolumeL(v.finalVolume, v.targetPracticalSalinity, v.temperature, v.yield),
  }),
  'fresh-water-to-dilute': entry({
    about: 'Pure water that brings a volume down to a salinity',
    inputs: { volume, presentPracticalSalinity: tooSalt, targetPracticalSalinity: target, temperature },
    dimension: 'volume',
    unit: 'L',
    source: BRINE_BALANCE,
    compute: (v) =>
      freshWaterToDiluteL(v.volume, v.presentPracticalSalinity, v.targetPracticalSalinity, v.temperature),
  }),
  'water-to-replace': entry({
    about: 'Water to draw off a full vat and replace with pure water to bring its salinity down',
    inputs: { volume, presentPracticalSalinity: tooSalt, targetPracticalSalinity: target, temperature },
    dimension: 'volume',
    unit: 'L',
    source: BRINE_BALANCE,
    compute: (v) =>
      waterToReplaceL(v.volume, v.presentPracticalSalinity, v.targetPracticalSalinity, v.temperature),
  }),
  'salinity-by-dilution': entry({
    about:
      'Practical salinity of a sample that is too salt to measure, thinned with pure water and measured then',
    inputs: {
      sampleVolume: input.volume(VOLUME, 'of the sample'),
      waterVolume: input.volume({ ...VOLUME, least: 0 }, 'of the pure water put to it'),
      thinnedPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'practical salinity of the two together'),
      temperature,
    },
    dimension: 'practical-salinity',
    unit: '1',
    source: BRINE_BALANCE,
    compute: (v) =>
      salinityByDilution(v.sampleVolume, v.waterVolume, v.thinnedPracticalSalinity, v.temperature),
  }),
  'blended-practical-salinity': entry({
    about: 'Practical salinity of two waters poured together',
    inputs: {
      firstVolume: input.volume(VOLUME, 'of one water'),
      firstPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'of the same'),
      secondVolume: input.volume(VOLUME, 'of the other water'),
      secondPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'of the other'),
      temperature,
    },
    dimension: 'practical-salinity',
    unit: '1',
    source: BALANCE,
    compute: (v) =>
      blendedPracticalSalinity(
        v.firstVolume,
        v.firstPracticalSalinity,
        v.secondVolume,
        v.secondPracticalSalinity,
        v.temperature,
      ),
  }),
  'batch-yield': entry({
    about: 'What one finished batch says of the yield of its salt',
    inputs: {
      volume,
      presentPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'practical salinity before'),
      reachedPracticalSalinity: input.salinity(PRACTICAL_SALINITY, 'practical salinity when dissolved'),
      saltMass: salt('dry product put in', SALT_ADDED),
      temperature,
    },
    dimension: 'ratio',
    unit: 'kg/kg',
    source: BALANCE,
    compute: (v) =>
      batchYield(v.volume, v.presentPracticalSalinity, v.reachedPracticalSalinity, v.saltMass, v.temperature),
  }),
  'learned-yield': entry({
    about: 'Yield learned from finished batches, with its 95 % interval',
    inputs: {
      yields: {
        columns: { yield: { dimension: 'ratio', unit: 'kg/kg' } },
        about: 'one per batch, from batch-yield',
      },
    },
    dimension: 'ratio',
    unit: 'kg/kg',
    source: "sample mean, standard error, Student's t",
    compute: (v) => {
      const learned = learnedYield(v.yields.map((row) => row.yield));
      if (learned.kind === 'too few') {
        return { value: null, note: `${learned.batches} of at least ${FEWEST_BATCHES} batches` };
      }
      const [least, most] = [brief(learned.leastKgPerKg), brief(learned.mostKgPerKg)];
      return {
        value: learned.yieldKgPerKg,
        note: `95 % interval ${least} to ${most}, standard error ${brief(learned.standardErrorKgPerKg)}`,
      };
    },
  }),
};
