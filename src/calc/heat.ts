// Warming.
import {
  AMBIENT,
  HOURS,
  heatCapacityJPerK,
  heaterPowerW,
  heatingTime,
  heatToWarmKwh,
  LOSS,
  POWER,
  SOME_HOURS,
  SOME_LOSS,
  steadyTemperatureC,
  temperatureAfterC,
  timeConstantHours,
  warmedVolumeL,
} from '../engineering/heat.ts';
import { GIBBS_TEMPERATURE } from '../engineering/properties.ts';
import { type Range, VOLUME } from '../engineering/range.ts';
import { PRACTICAL_SALINITY } from '../engineering/seawater.ts';
import { brief, type Entry, entry, input, type QuantityInput } from './entry.ts';

const BALANCE = 'm cp dT/dt = P - UA (T - Ta), lumped heat capacity (Incropera & DeWitt, chapter 5)';

const vat = {
  volume: input.volume(VOLUME, 'of the water'),
  practicalSalinity: input.salinity(PRACTICAL_SALINITY),
  from: input.temperature(GIBBS_TEMPERATURE, 'now'),
} as const;
const to = input.temperature(GIBBS_TEMPERATURE, 'wanted');
const heaterPower: QuantityInput = {
  dimension: 'power',
  unit: 'W',
  range: POWER,
  about: 'that reaches the water',
};
const lossConductance: QuantityInput = {
  dimension: 'heat-loss',
  unit: 'W/K',
  range: LOSS,
  about: 'heat lost per kelvin above the room (UA), with the lid as it is',
};
const loses: QuantityInput = { ...lossConductance, range: SOME_LOSS };
const ambient = input.temperature(AMBIENT, 'of the room');
const time = (range: Range): QuantityInput => ({
  dimension: 'duration',
  unit: 'h',
  range,
  about: 'from now',
});

export const HEAT: Readonly<Record<string, Entry>> = {
  'heating-time': entry({
    about: 'Time for a heater to bring a vat to a temperature, against its losses',
    inputs: { ...vat, to, heaterPower, lossConductance, ambient },
    dimension: 'duration',
    unit: 'h',
    source: BALANCE,
    compute: (v) => {
      const warming = heatingTime(
        v.volume,
        v.practicalSalinity,
        v.from,
        v.to,
        v.heaterPower,
        v.lossConductance,
        v.ambient,
      );
      if (warming.kind === 'reached') return warming.hours;
      const settles =
        warming.settlesAtC === null
          ? 'loses nothing, and only the heater moves it'
          : `settles at ${brief(warming.settlesAtC)} degC`;
      return { value: null, note: `never: the water ${settles}` };
    },
  }),
  'heat-to-warm': entry({
    about: 'Heat that warms a vat, without losses',
    inputs: { ...vat, to },
    dimension: 'energy',
    unit: 'kWh',
    source: 'm cp (T2 - T1), specific heat at the mean temperature',
    compute: (v) => heatToWarmKwh(v.volume, v.practicalSalinity, v.from, v.to),
  }),
  'heater-power': entry({
    about: 'Heater power that brings a vat to a temperature in a time',
    inputs: { ...vat, to, lossConductance, ambient, time: time(SOME_HOURS) },
    dimension: 'power',
    unit: 'W',
    source: BALANCE,
    compute: (v) => {
      const capacity = heatCapacityJPerK(v.volume, v.practicalSalinity, v.from, v.to);
      const value = heaterPowerW(capacity, v.from, v.to, v.lossConductance, v.ambient, v.time);
      return value > 0 ? value : { value, note: 'none needed: the room alone is quick enough' };
    },
  }),
  'temperature-after-heating': entry({
    about: 'Temperature of a vat after a time with the heater at a power, 0 W for off',
    inputs: { ...vat, heaterPower, lossConductance, ambient, time: time(HOURS) },
    dimension: 'temperature',
    unit: 'degC',
    source: BALANCE,
    compute: (v) => {
      const capacity = heatCapacityJPerK(v.volume, v.practicalSalinity, v.from, v.from);
      return temperatureAfterC(capacity, v.from, v.heaterPower, v.lossConductance, v.ambient, v.time);
    },
  }),
  'steady-temperature': entry({
    about: 'Where a vat settles with the heater on for ever',
    inputs: { heaterPower, lossConductance: loses, ambient },
    dimension: 'temperature',
    unit: 'degC',
    source: BALANCE,
    compute: (v) => steadyTemperatureC(v.heaterPower, v.lossConductance, v.ambient),
  }),
  'heat-time-constant': entry({
    about: 'Time in which a vat left alone loses 63 % of its difference to the room',
    inputs: { ...vat, lossConductance: loses },
    dimension: 'duration',
    unit: 'h',
    source: BALANCE,
    compute: (v) =>
      timeConstantHours(heatCapacityJPerK(v.volume, v.practicalSalinity, v.from, v.from), v.lossConductance),
  }),
  'warmed-volume': entry({
    about: 'What a volume becomes when it is warmed',
    inputs: { ...vat, to },
    dimension: 'volume',
    unit: 'L',
    source: 'Millero & Poisson 1981',
    compute: (v) => warmedVolumeL(v.volume, v.practicalSalinity, v.from, v.to),
  }),
};
