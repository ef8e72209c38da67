// Warming a vat: a heater against the room, the water well mixed (lumped heat capacity).
//
//     m cp dT/dt = P - UA (T - Ta)
//
// closed form, Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, chapter 5. Evaporation is left out: an open
// vat loses more than its walls say, and a lid is the cheapest heater. A heater too weak is an answer: the water settles
// at Ta + P/UA and stays there.
import { decayMean } from './numeric.ts';
import { GIBBS_TEMPERATURE, seawaterSpecificHeat } from './properties.ts';
import { hold, type Range, VOLUME } from './range.ts';
import { seawaterDensity } from './seawater.ts';

export const POWER: Range = { least: 0, most: 1e6, unit: 'W' };
export const LOSS: Range = { least: 0, most: 1e5, unit: 'W/K' };
/** A loss that something is divided by. */
export const SOME_LOSS: Range = { ...LOSS, least: 1e-6 };
export const HEAT_CAPACITY: Range = { least: 1, most: 1e12, unit: 'J/K' };
export const AMBIENT: Range = { least: -40, most: 60, unit: 'degC' };
export const HOURS: Range = { least: 0, most: 1e5, unit: 'h' };
export const SOME_HOURS: Range = { ...HOURS, least: 0.001 };

/**
 * Heat capacity of a vat's water: its mass at the first temperature times the specific heat at the mean.
 * @returns J/K
 * @throws OutOfRange
 */
export function heatCapacityJPerK(volumeL: number, salinity: number, fromC: number, toC: number): number {
  hold('volume', volumeL, VOLUME);
  const massKg = (volumeL * seawaterDensity(salinity, fromC)) / 1000;
  return massKg * seawaterSpecificHeat(salinity, (fromC + toC) / 2);
}

/** Heat that warms a vat, without losses: m cp (T2 - T1). @returns kWh; negative for cooling @throws OutOfRange */
export function heatToWarmKwh(volumeL: number, salinity: number, fromC: number, toC: number): number {
  return (heatCapacityJPerK(volumeL, salinity, fromC, toC) * (toC - fromC)) / 3_600_000;
}

/** Time constant m cp / UA of a vat left alone. @param lossWPerK 0.000001 to 100000 W/K @returns h @throws OutOfRange */
export function timeConstantHours(capacityJPerK: number, lossWPerK: number): number {
  hold('heat capacity', capacityJPerK, HEAT_CAPACITY);
  hold('heat loss', lossWPerK, SOME_LOSS);
  return capacityJPerK / lossWPerK / 3600;
}

/** Where the water settles with the heater on for ever: Ta + P / UA. @returns degC @throws OutOfRange */
export function steadyTemperatureC(powerW: number, lossWPerK: number, ambientC: number): number {
  hold('heater power', powerW, POWER);
  hold('heat loss', lossWPerK, SOME_LOSS);
  hold('ambient temperature', ambientC, AMBIENT);
  return ambientC + powerW / lossWPerK;
}

export type Warming =
  | { readonly kind: 'reached'; readonly hours: number }
  /** The water settles elsewhere; null when it loses nothing, and stays or goes on rising. */
  | { readonly kind: 'never'; readonly settlesAtC: number | null };

/**
 * Time from one temperature to another with the heater on: -tau ln((T2 - Ts) / (T1 - Ts)), or that it never gets there.
 * Without loss it is m cp (T2 - T1) / P.
 * @param capacityJPerK from heatCapacityJPerK
 * @throws OutOfRange
 */
export function warmingTime(
  capacityJPerK: number,
  fromC: number,
  toC: number,
  powerW: number,
  lossWPerK: number,
  ambientC: number,
): Warming {
  holdVat(capacityJPerK, fromC, powerW, lossWPerK, ambientC);
  hold('target temperature', toC, GIBBS_TEMPERATURE);
  if (toC === fromC) return { kind: 'reached', hours: 0 };
  // With the net power at the start, one form serves every loss, none included:
  // t = C (T2 - T1)/N * (-ln(1 - s)/s), where s = UA (T2 - T1)/N is the share of the way to where it settles.
  const netW = powerW - lossWPerK * (fromC - ambientC);
  const share = (lossWPerK * (toC - fromC)) / netW;
  if (!((toC - fromC) * netW > 0 && share < 1)) {
    return {
      kind: 'never',
      settlesAtC: lossWPerK < SOME_LOSS.least ? null : steadyTemperatureC(powerW, lossWPerK, ambientC),
    };
  }
  const slowing = share === 0 ? 1 : -Math.log1p(-share) / share;
  const hours = (capacityJPerK * (toC - fromC) * slowing) / netW / 3600;
  // A power next to nothing takes longer than numbers go.
  return Number.isFinite(hours) ? { kind: 'reached', hours } : { kind: 'never', settlesAtC: null };
}

/**
 * Time to warm a vat of a volume and a salinity.
 * @param volumeL 0.001 to 1000000 L
 * @param salinity practical salinity, 0 to 42
 * @param fromC -2 to 40 degC
 * @param toC -2 to 40 degC
 * @param powerW 0 to 1000000 W, what reaches the water
 * @param lossWPerK heat loss per kelvin above the room (UA), 0 to 100000 W/K
 * @param ambientC -40 to 60 degC
 * @throws OutOfRange
 */
export function heatingTime(
  volumeL: number,
  salinity: number,
  fromC: number,
  toC: number,
  powerW: number,
  lossWPerK: number,
  ambientC: number,
): Warming {
  const capacity = heatCapacityJPerK(volumeL, salinity, fromC, toC);
  return warmingTime(capacity, fromC, toC, powerW, lossWPerK, ambientC);
}

/** Temperature after a time with the heater on at this power (0 for off). @returns degC @throws OutOfRange */
export function temperatureAfterC(
  capacityJPerK: number,
  fromC: number,
  powerW: number,
  lossWPerK: number,
  ambientC: number,
  hours: number,
): number {
  holdVat(capacityJPerK, fromC, powerW, lossWPerK, ambientC);
  hold('time', hours, HOURS);
  const netW = powerW - lossWPerK * (fromC - ambientC);
  const seconds = hours * 3600;
  return fromC + (netW / capacityJPerK) * seconds * decayMean((lossWPerK * seconds) / capacityJPerK);
}

/**
 * Heater power that reaches a temperature in a time: warmingTime solved for P.
 * @param hours 0.001 to 100000 h
 * @returns W; 0 or less when the room alone is quick enough
 * @throws OutOfRange
 */
export function heaterPowerW(
  capacityJPerK: number,
  fromC: number,
  toC: number,
  lossWPerK: number,
  ambientC: number,
  hours: number,
): number {
  holdVat(capacityJPerK, fromC, 0, lossWPerK, ambientC);
  hold('target temperature', toC, GIBBS_TEMPERATURE);
  hold('time', hours, SOME_HOURS);
  const seconds = hours * 3600;
  const netW = (capacityJPerK * (toC - fromC)) / (seconds * decayMean((lossWPerK * seconds) / capacityJPerK));
  return netW + lossWPerK * (fromC - ambientC);
}

/** What a volume becomes when it is warmed: V rho(T1) / rho(T2). 20 to 25 degC adds 0.13 %. @throws OutOfRange */
export function warmedVolumeL(volumeL: number, salinity: number, fromC: number, toC: number): number {
  hold('volume', volumeL, VOLUME);
  return (volumeL * seawaterDensity(salinity, fromC)) / seawaterDensity(salinity, toC);
}

function holdVat(capacityJPerK: number, fromC: number, powerW: number, lossWPerK: number, ambientC: number) {
  hold('heat capacity', capacityJPerK, HEAT_CAPACITY);
  hold('present temperature', fromC, GIBBS_TEMPERATURE);
  hold('heater power', powerW, POWER);
  hold('heat loss', lossWPerK, LOSS);
  hold('ambient temperature', ambientC, AMBIENT);
}
