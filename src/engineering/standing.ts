// Small things about standing water: what can be drawn, what it presses with, what a tray would hold.
import { STANDARD_GRAVITY } from './constants.ts';
import { CONTENTS, FLOW, hold, type Range, SOME_FLOW, VOLUME } from './range.ts';
import { seawaterDensity } from './seawater.ts';

export const HEIGHT: Range = { least: -100, most: 100, unit: 'm' };
export const TRAY_AREA: Range = { least: 1e-3, most: 1e4, unit: 'm2' };

/** What lies between two marks of a vessel. @throws OutOfRange also when the marks are the wrong way round */
export function usableContentsL(fullL: number, emptyL: number): number {
  hold('full mark', fullL, CONTENTS);
  hold('empty mark', emptyL, { ...CONTENTS, most: fullL });
  return fullL - emptyL;
}

/**
 * Height that a pump must lift: where the water leaves its pipe (or the level it leaves under, if that is higher), less
 * the level it is drawn from. All above one floor; negative where the water runs downhill.
 * @throws OutOfRange
 */
export function liftM(outletM: number, standM: number, levelM: number): number {
  hold('height of the outlet', outletM, HEIGHT);
  hold('height of the stand', standM, HEIGHT);
  hold('level', levelM, HEIGHT);
  return outletM - standM - levelM;
}

/** Pressure of a column of water: rho g h. A metre of fresh water is 9.8 kPa. @returns kPa @throws OutOfRange */
export function columnPressureKpa(heightM: number, salinity: number, temperatureC: number): number {
  hold('height', heightM, HEIGHT);
  return (seawaterDensity(salinity, temperatureC) * STANDARD_GRAVITY * heightM) / 1000;
}

/** How often a pump turns a volume over. @returns times an hour @throws OutOfRange */
export function turnoversPerHour(flowLpm: number, volumeL: number): number {
  hold('flow', flowLpm, FLOW);
  hold('volume', volumeL, VOLUME);
  return (flowLpm * 60) / volumeL;
}

/**
 * Depth of a tray that holds a volume and a tenth more: the customary 110 % of the largest vessel in a bund (from memory:
 * the oil storage regulations of England, 2001, and many like them).
 * @returns mm
 * @throws OutOfRange
 */
export function trayDepthMm(volumeL: number, areaM2: number): number {
  hold('volume', volumeL, VOLUME);
  hold('tray area', areaM2, TRAY_AREA);
  return (1.1 * volumeL) / areaM2;
}

/**
 * Litres a minute of an exchange that draws a step and then puts it back: each litre takes the time of both pumps,
 * 1 / (1/out + 1/in).
 * @throws OutOfRange
 */
export function exchangeFlowLpm(outLpm: number, inLpm: number): number {
  hold('flow out', outLpm, SOME_FLOW);
  hold('flow in', inLpm, SOME_FLOW);
  return 1 / (1 / outLpm + 1 / inLpm);
}
