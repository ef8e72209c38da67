// The purifier.
import {
  DISSOLVED_SALT,
  DRIVING_PRESSURE,
  diluteOsmoticPressureKpa,
  INLET_TEMPERATURE,
  LINE_PRESSURE,
  MEMBRANE_CONSTANT,
  netDrivingPressureKpa,
  normalisedOutputLpm,
  permeateTemperatureDivisor,
  purifierOutput,
  RECOVERY,
  recovery,
  refillHoursByMonth,
  rejectWaterL,
} from '../engineering/purification.ts';
import { CONTENTS, FLOW, SOME_FLOW } from '../engineering/range.ts';
import { brief, type Entry, entry, input, type QuantityInput } from './entry.ts';

const MEMBRANES = 'published membrane correction tables; exp(K (1/T - 1/298.15))';
const ASTM_D4516 =
  'ASTM D4516-19a, section 6.1 (form seen quoted; osmotic pressure and log mean from memory)';

const temperature = input.temperature(INLET_TEMPERATURE, 'of the inlet water');
const membraneConstant = {
  dimension: 'absolute-temperature-constant',
  unit: 'K',
  range: MEMBRANE_CONSTANT,
  default: '3020 K up to 25 degC, 2640 K above',
  about: "the membrane's own K",
} as const;
const salt = (about: string): QuantityInput => ({
  dimension: 'mass-concentration',
  unit: 'mg/L',
  range: DISSOLVED_SALT,
  about,
});
const driving = (about: string) => input.pressure(DRIVING_PRESSURE, about);

export const PURIFICATION: Readonly<Record<string, Entry>> = {
  'permeate-temperature-divisor': entry({
    about: "Divisor of a purifier's output at 25 degC for the temperature of its inlet",
    inputs: { temperature, membraneConstant },
    dimension: 'number',
    unit: '1',
    source: MEMBRANES,
    compute: (v) => permeateTemperatureDivisor(v.temperature, v.membraneConstant),
  }),
  'dilute-osmotic-pressure': entry({
    about: 'Osmotic pressure of tap or well water, its salts counted as sodium chloride',
    inputs: { dissolvedSalt: salt('as sodium chloride'), temperature },
    dimension: 'pressure',
    unit: 'kPa',
    source: 'ASTM D4516-19a (from memory)',
    compute: (v) => diluteOsmoticPressureKpa(v.dissolvedSalt, v.temperature),
  }),
  'purifier-recovery': entry({
    about: 'Share of the inlet water that comes out purified',
    inputs: {
      purifiedFlow: input.flow(FLOW, 'purified water'),
      inletFlow: input.flow(SOME_FLOW, 'inlet water'),
    },
    dimension: 'ratio',
    unit: '1',
    source: 'definition',
    compute: (v) => recovery(v.purifiedFlow, v.inletFlow),
  }),
  'reject-water': entry({
    about: 'Water sent to the drain for a volume of purified water',
    inputs: {
      purifiedVolume: input.volume(CONTENTS, 'purified water made'),
      recovery: input.ratio(RECOVERY, 'share of the inlet that comes out purified'),
    },
    dimension: 'volume',
    unit: 'L',
    source: 'definition of recovery',
    compute: (v) => rejectWaterL(v.purifiedVolume, v.recovery),
  }),
  'net-driving-pressure': entry({
    about: 'Pressure that drives water through the membrane',
    inputs: {
      inletPressure: input.pressure(LINE_PRESSURE, 'at the membrane, above atmosphere'),
      pressureLoss: input.pressure(LINE_PRESSURE, 'from inlet to reject'),
      backPressure: input.pressure(LINE_PRESSURE, 'on the purified side; 1 m of height is 9.8 kPa'),
      inletSalt: salt('of the inlet, as sodium chloride'),
      purifiedSalt: salt('of the purified water, as sodium chloride'),
      recovery: input.ratio(RECOVERY, 'share of the inlet that comes out purified'),
      temperature,
    },
    dimension: 'pressure',
    unit: 'kPa',
    source: ASTM_D4516,
    compute: (v) =>
      netDrivingPressureKpa(
        v.inletPressure,
        v.pressureLoss,
        v.backPressure,
        v.inletSalt,
        v.purifiedSalt,
        v.recovery,
        v.temperature,
      ),
  }),
  'purifier-output': entry({
    about: 'Output at a temperature and a net driving pressure',
    inputs: {
      ratedOutput: input.flow(SOME_FLOW, 'at 25 degC'),
      ratedDrivingPressure: driving('net driving pressure of the rating'),
      drivingPressure: input.pressure(
        { ...LINE_PRESSURE, least: -LINE_PRESSURE.most },
        'net driving pressure now, from net-driving-pressure',
      ),
      temperature,
      membraneConstant,
    },
    dimension: 'flow',
    unit: 'L/min',
    source: ASTM_D4516,
    compute: (v) => {
      const output = purifierOutput(
        v.ratedOutput,
        v.ratedDrivingPressure,
        v.drivingPressure,
        v.temperature,
        v.membraneConstant,
      );
      if (output.kind === 'flows') return output.outputLpm;
      return {
        value: null,
        note: `no water passes: the driving pressure is ${brief(output.drivingKpa)} kPa`,
      };
    },
  }),
  'normalised-purifier-output': entry({
    about: 'What the measured output would be at 25 degC and the reference pressure; its fall shows fouling',
    inputs: {
      measuredOutput: input.flow(FLOW, 'as measured'),
      drivingPressure: driving('net driving pressure while measuring'),
      referenceDrivingPressure: driving('net driving pressure to refer to'),
      temperature,
      membraneConstant,
    },
    dimension: 'flow',
    unit: 'L/min',
    source: ASTM_D4516,
    compute: (v) =>
      normalisedOutputLpm(
        v.measuredOutput,
        v.drivingPressure,
        v.referenceDrivingPressure,
        v.temperature,
        v.membraneConstant,
      ),
  }),
  'refill-time': entry({
    about: 'Time to make a volume of purified water, at unchanging pressure',
    inputs: {
      volume: input.volume(CONTENTS, 'to make'),
      ratedOutput: input.flow(SOME_FLOW, 'at 25 degC'),
      temperature,
      membraneConstant,
    },
    dimension: 'duration',
    unit: 'h',
    source: MEMBRANES,
    compute: (v) =>
      refillHoursByMonth(v.volume, v.ratedOutput, [v.temperature], v.membraneConstant)[0] as number,
  }),
};
