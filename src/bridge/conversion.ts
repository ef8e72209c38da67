// From what a device says to the house unit: sentinel on the raw number, scale and offset, range in the payload's unit,
// then litres, litres a minute, degC or mS/cm.
import type { BadReading } from '../control/guard/types.ts';
import { KINDS, type NumberSensor } from '../station/kinds.ts';
import type { Plant } from '../station/plant.ts';
import { houseUnit, quantity, toUnit } from '../units/quantity.ts';

export type Converted = { readonly value: number } | { readonly bad: BadReading };

/** Compiled once per sensor. */
export function converterOf(sensor: NumberSensor, plant: Plant): (raw: number) => Converted {
  const toHouse = houseOf(sensor, plant);
  return (raw) => {
    if (sensor.sentinels.includes(raw)) return { bad: 'sentinel' };
    const reading = sensor.scale * raw + sensor.offset;
    const [least, most] = sensor.range ?? [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
    // Written so that NaN fails it, too.
    if (!(reading >= least && reading <= most)) return { bad: 'out-of-range' };
    try {
      const value = toHouse(reading);
      return Number.isFinite(value) ? { value } : { bad: 'out-of-range' };
    } catch {
      // Colder than absolute zero, or beyond the largest double once converted.
      return { bad: 'out-of-range' };
    }
  };
}

function houseOf(sensor: NumberSensor, plant: Plant): (reading: number) => number {
  if (sensor.measures === 'level') return levelOf(sensor, plant);
  const dimension = KINDS[sensor.measures].about;
  return (reading) => toUnit(quantity(reading, sensor.unit, dimension), houseUnit(dimension));
}

function levelOf(sensor: Extract<NumberSensor, { measures: 'level' }>, plant: Plant) {
  const { table, unit } = sensor;
  if (table !== null) {
    return (reading: number) =>
      contentsAt(table, toUnit(quantity(reading, unit, 'length'), houseUnit('length')));
  }
  if (unit === '%') {
    const capacityL = plant.vessels[sensor.vessel]?.capacityL ?? Number.NaN;
    return (reading: number) => (reading / 100) * capacityL;
  }
  return (reading: number) => toUnit(quantity(reading, unit, 'volume'), houseUnit('volume'));
}

/**
 * Straight lines between the pairs, and the end pieces go on beyond the ends: a level above a table that stops short of
 * the brim must not read as the table's last contents, or the last litres would be invisible. Never below nothing.
 */
export function contentsAt(table: readonly (readonly [number, number])[], levelMm: number): number {
  const beyond = table.findIndex(([mm]) => mm >= levelMm);
  const upper = Math.min(Math.max(beyond === -1 ? table.length - 1 : beyond, 1), table.length - 1);
  const [x0, y0] = table[upper - 1] ?? [0, 0];
  const [x1, y1] = table[upper] ?? [0, 0];
  return Math.max(0, y0 + ((y1 - y0) * (levelMm - x0)) / (x1 - x0));
}
