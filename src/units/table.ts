// Every unit the house can read, one row each.
//
// A row turns a value into the house unit of its dimension:
//
//     house = ((value + before) * times) / over + after
//
// The factor is kept as a quotient of two short numbers so that what is exact on paper stays exact here:
// 7 mL is 7 / 1000 and not 7 * 0.001, and 77 degF is (77 - 32) * 5 / 9 = 25 to the last bit.
//
// Factors: NIST Special Publication 811 (2008), appendix B, and the SI Brochure (BIPM, 9th edition, 2019), table 8.
// Those marked exact there are exact here: the inch (25.4 mm), the pound (0.453 592 37 kg), the US gallon
// (231 in3 = 3.785 411 784 L), the Imperial gallon (4.546 09 L), standard gravity (9.806 65 m/s2).

/** What a number with a unit is about. A unit may serve several: `K` is a temperature and a difference. */
export type Dimension =
  | 'volume'
  | 'flow'
  | 'temperature'
  | 'temperature-difference'
  | 'pressure'
  | 'length'
  | 'area'
  | 'mass'
  | 'duration'
  | 'power'
  | 'energy'
  | 'conductivity'
  | 'practical-salinity'
  | 'mass-salinity'
  | 'mass-concentration'
  | 'ratio'
  | 'number'
  | 'density'
  | 'specific-heat'
  | 'heat-loss'
  | 'kinematic-viscosity'
  | 'dynamic-viscosity'
  | 'per-temperature'
  | 'rate'
  | 'production'
  | 'speed'
  | 'absolute-temperature-constant';

export interface UnitRow {
  readonly unit: string;
  /** Other lawful ways to write the same unit (the SI Brochure allows both `L` and `l`, both micro signs). */
  readonly also?: readonly string[];
  readonly before?: number;
  readonly times?: number;
  readonly over?: number;
  readonly after?: number;
}

const US_GALLON_L = 3.785411784;
const IMPERIAL_GALLON_L = 4.54609;
const POUND_FORCE_N = 0.45359237 * 9.80665;

const DIMENSIONLESS: UnitRow = { unit: '1' };
const PERCENT: UnitRow = { unit: '%', over: 100 };

/** The first row of each dimension is its house unit: the one the whole project computes in. */
export const UNITS: Readonly<Record<Dimension, readonly [UnitRow, ...UnitRow[]]>> = {
  volume: [
    { unit: 'L', also: ['l'] },
    { unit: 'mL', also: ['ml'], over: 1000 },
    { unit: 'm3', also: ['m³'], times: 1000 },
    { unit: 'gal', times: US_GALLON_L },
    { unit: 'impgal', times: IMPERIAL_GALLON_L },
  ],
  flow: [
    { unit: 'L/min', also: ['l/min'] },
    { unit: 'L/h', also: ['l/h'], over: 60 },
    { unit: 'L/s', also: ['l/s'], times: 60 },
    { unit: 'L/d', also: ['l/d', 'L/day'], over: 1440 },
    { unit: 'mL/min', also: ['ml/min'], over: 1000 },
    { unit: 'm3/h', also: ['m³/h'], times: 1000, over: 60 },
    { unit: 'gal/min', times: US_GALLON_L },
    { unit: 'gal/h', times: US_GALLON_L, over: 60 },
    { unit: 'gal/d', also: ['gal/day'], times: US_GALLON_L, over: 1440 },
  ],
  temperature: [
    { unit: 'degC', also: ['°C'] },
    { unit: 'degF', also: ['°F'], before: -32, times: 5, over: 9 },
    { unit: 'K', after: -273.15 },
  ],
  'temperature-difference': [
    { unit: 'K' },
    { unit: 'degC', also: ['°C'] },
    { unit: 'degF', also: ['°F'], times: 5, over: 9 },
  ],
  pressure: [
    { unit: 'kPa' },
    { unit: 'Pa', over: 1000 },
    { unit: 'bar', times: 100 },
    { unit: 'mbar', over: 10 },
    { unit: 'psi', times: POUND_FORCE_N, over: 0.0254 * 0.0254 * 1000 },
    { unit: 'kN/m2', also: ['kN/m²'] },
    { unit: 'lbf/ft2', also: ['psf'], times: POUND_FORCE_N, over: 0.3048 * 0.3048 * 1000 },
  ],
  length: [
    { unit: 'mm' },
    { unit: 'cm', times: 10 },
    { unit: 'm', times: 1000 },
    { unit: 'in', times: 25.4 },
    { unit: 'ft', times: 304.8 },
  ],
  area: [
    { unit: 'm2', also: ['m²'] },
    { unit: 'cm2', also: ['cm²'], over: 10_000 },
    { unit: 'mm2', also: ['mm²'], over: 1_000_000 },
    { unit: 'ft2', also: ['ft²'], times: 0.3048 * 0.3048 },
    { unit: 'in2', also: ['in²'], times: 0.0254 * 0.0254 },
  ],
  mass: [
    { unit: 'kg' },
    { unit: 'g', over: 1000 },
    { unit: 'mg', over: 1_000_000 },
    { unit: 'lb', times: 0.45359237 },
  ],
  duration: [
    { unit: 'ms' },
    { unit: 's', times: 1000 },
    { unit: 'min', times: 60_000 },
    { unit: 'h', times: 3_600_000 },
    { unit: 'd', times: 86_400_000 },
  ],
  power: [{ unit: 'W' }, { unit: 'kW', times: 1000 }],
  energy: [
    { unit: 'kWh' },
    { unit: 'J', over: 3_600_000 },
    { unit: 'kJ', over: 3600 },
    { unit: 'MJ', times: 10, over: 36 },
  ],
  conductivity: [
    { unit: 'mS/cm' },
    { unit: 'uS/cm', also: ['µS/cm', 'μS/cm'], over: 1000 },
    { unit: 'S/m', times: 10 },
    { unit: 'mS/m', over: 100 },
    { unit: 'uS/m', also: ['µS/m', 'μS/m'], over: 100_000 },
    { unit: 'S/cm', times: 1000 },
  ],
  // Practical salinity has no unit (PSS-78); `PSU` is how the trade says so aloud.
  'practical-salinity': [DIMENSIONLESS, { unit: 'PSU' }],
  // Salt by mass of solution. The trade's `ppt` is this and never g/L.
  'mass-salinity': [{ unit: 'g/kg' }, { unit: 'ppt' }, { unit: 'kg/kg', times: 1000 }],
  'mass-concentration': [
    { unit: 'mg/L', also: ['mg/l'] },
    { unit: 'g/L', also: ['g/l'], times: 1000 },
    { unit: 'ug/L', also: ['µg/L', 'μg/L'], over: 1000 },
    { unit: 'kg/m3', also: ['kg/m³'], times: 1000 },
  ],
  ratio: [DIMENSIONLESS, PERCENT, { unit: 'kg/kg' }, { unit: 'g/g' }, { unit: 'L/L' }],
  number: [DIMENSIONLESS],
  density: [
    { unit: 'kg/m3', also: ['kg/m³'] },
    { unit: 'g/mL', also: ['g/cm3', 'kg/L'], times: 1000 },
    { unit: 'lb/ft3', times: 0.45359237, over: 0.3048 * 0.3048 * 0.3048 },
  ],
  'specific-heat': [{ unit: 'J/(kg K)' }, { unit: 'kJ/(kg K)', times: 1000 }],
  'heat-loss': [{ unit: 'W/K' }, { unit: 'kW/K', times: 1000 }],
  'kinematic-viscosity': [
    { unit: 'm2/s', also: ['m²/s'] },
    { unit: 'mm2/s', also: ['mm²/s'], over: 1_000_000 },
    { unit: 'ft2/s', times: 0.3048 * 0.3048 },
  ],
  'dynamic-viscosity': [{ unit: 'Pa s' }, { unit: 'mPa s', over: 1000 }],
  'per-temperature': [{ unit: '1/K' }, { unit: '%/K', over: 100 }],
  // How often a volume is turned over.
  rate: [{ unit: '1/d' }, { unit: '1/h', times: 24 }, { unit: '%/d', over: 100 }],
  // What an inhabited system adds to its own water.
  production: [{ unit: 'mg/(L d)' }, { unit: 'mg/(L h)', times: 24 }],
  speed: [{ unit: 'm/s' }, { unit: 'ft/s', times: 0.3048 }],
  // A constant in kelvin that is no thermometer reading (a membrane's K): never shifted by 273.15.
  'absolute-temperature-constant': [{ unit: 'K' }],
};

/** What people say or type for a unit that has another spelling here. Used to mend an error, never accepted. */
export const SPOKEN: Readonly<Record<string, string>> = {
  litre: 'L',
  litres: 'L',
  liter: 'L',
  liters: 'L',
  gallon: 'gal',
  gallons: 'gal',
  gpd: 'gal/d',
  gph: 'gal/h',
  gpm: 'gal/min',
  lpm: 'L/min',
  lph: 'L/h',
  c: 'degC',
  f: 'degF',
  celsius: 'degC',
  fahrenheit: 'degF',
  kelvin: 'K',
  inch: 'in',
  inches: 'in',
  foot: 'ft',
  feet: 'ft',
  metre: 'm',
  meter: 'm',
  kilogram: 'kg',
  kilo: 'kg',
  pound: 'lb',
  lbs: 'lb',
  sec: 's',
  second: 's',
  seconds: 's',
  minute: 'min',
  minutes: 'min',
  hr: 'h',
  hour: 'h',
  hours: 'h',
  day: 'd',
  days: 'd',
  watt: 'W',
  percent: '%',
  psu: 'PSU',
};
