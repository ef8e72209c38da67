// Between the house unit and the bare number that a device sends, both ways: unit, level table, scale and offset, and as
// many digits as the device's resolution is worth.
import { KINDS, type NumberSensor } from '../station/kinds.ts';
import type { Plant } from '../station/plant.ts';
import { type Dimension, houseUnit, quantity, toUnit } from '../units/quantity.ts';

/** The bare number a device sends for a value in the house unit. */
export function rawOf(plant: Plant, sensor: NumberSensor, house: number, resolution: number): number {
  const raw = exactRaw(plant, sensor, house);
  // A count of pulses has no half pulse, and has counted only what has gone by.
  if (sensor.measures === 'total' && sensor.inPulses) return Math.floor(raw + 1e-9);
  const step = Math.abs(exactRaw(plant, sensor, house + resolution) - raw);
  return Number(raw.toFixed(decimalsFor(step)));
}

function exactRaw(plant: Plant, sensor: NumberSensor, house: number): number {
  return (fromHouse(plant, sensor, house) - sensor.offset) / sensor.scale;
}

/** Enough digits that rounding is a tenth of the step. */
function decimalsFor(step: number): number {
  if (!(step > 0)) return 6;
  return Math.min(9, Math.max(0, Math.ceil(-Math.log10(step)) + 1));
}

function fromHouse({ vessels }: Plant, sensor: NumberSensor, house: number): number {
  if (sensor.measures !== 'level') return converted(house, KINDS[sensor.measures].about, sensor.unit);
  if (sensor.unit === '%') return (100 * house) / (vessels[sensor.vessel]?.capacityL ?? 0);
  if (sensor.table === null) return converted(house, 'volume', sensor.unit);
  return converted(
    along(
      sensor.table.map(([mm, litres]) => [litres, mm] as const),
      house,
    ),
    'length',
    sensor.unit,
  );
}

function converted(house: number, dimension: Dimension, unit: string): number {
  return toUnit(quantity(house, houseUnit(dimension), dimension), unit);
}

/** The value in the house unit of a bare number that a device sent. */
export function houseOf({ vessels }: Plant, sensor: NumberSensor, raw: number): number {
  const value = raw * sensor.scale + sensor.offset;
  const read = (dimension: Dimension) =>
    toUnit(quantity(value, sensor.unit, dimension), houseUnit(dimension));
  if (sensor.measures !== 'level') return read(KINDS[sensor.measures].about);
  if (sensor.unit === '%') return (value / 100) * (vessels[sensor.vessel]?.capacityL ?? 0);
  return sensor.table === null ? read('volume') : along(sensor.table, read('length'));
}

/** Straight lines between the pairs; beyond the ends, the end. */
function along(pairs: readonly (readonly [number, number])[], at: number): number {
  let [from, start] = pairs[0] ?? [0, 0];
  if (at <= from) return start;
  for (const [to, end] of pairs) {
    if (at <= to) return to === from ? end : start + ((end - start) * (at - from)) / (to - from);
    [from, start] = [to, end];
  }
  return start;
}
