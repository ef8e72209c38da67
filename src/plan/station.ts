// The station that a plan describes, as a station file: everything that full protection needs, with the plan's own marks
// and flows. Its topics are placeholders under the site's id; a person fills in the real ones.
//
// The plan also reads its list of hardware off this station, so that what is advised and what the core guards can not
// drift apart.
import type { StationFile } from '../station/file/station.ts';
import type { ShapeFile } from '../station/shape.ts';
import type { Design } from './design.ts';
import type { LinePlan } from './lines.ts';
import type { Marks } from './marks.ts';
import type { Vat } from './site.ts';
import { actuatorsOf } from './station-actuators.ts';
import { sensorsOf } from './station-devices.ts';
import { litres, type Pace, seconds, USUAL_PACE } from './station-parts.ts';
import { routesOf } from './station-routes.ts';
import { systemMarksOf } from './system-marks.ts';
import { rimM } from './vat-level.ts';

export function stationOf(design: Design, pace: Pace = USUAL_PACE): StationFile {
  const { site } = design;
  return {
    format: 1,
    id: site.id,
    name: site.name,
    vessels: vesselsOf(design),
    routes: routesOf(design),
    ...(site.heater === null ? {} : { heaters: { heater: heaterOf(design, site.heater) } }),
    sensors: sensorsOf(design, pace),
    actuators: actuatorsOf(design, pace),
    alive: 'alive-lamp',
    process: processOf(design),
    policy: {
      starts: { refill: 'itself', batch: 'itself', exchange: 'itself' },
      restarts: {
        afterLinkLoss: 'itself',
        afterPowerCut: 'person',
        evidenceStandsFor: seconds(2 * pace.republishesS),
        perDay: 4,
      },
    },
    link: { provenWithin: seconds(pace.provenWithinS), tickWithin: seconds(pace.tickWithinS) },
  };
}

const lpm = (value: number): string => `${Number(value.toPrecision(4))} L/min`;
const degC = (value: number): string => `${Number(value.toFixed(1))} degC`;
const metres = (value: number): string => `${Number(value.toFixed(3))} m`;
const percent = (share: number): string => `${Number((100 * share).toPrecision(4))} %`;
const pss = (value: number): string => `${Number(value.toFixed(2))} PSU`;

/** Until a pump has its full flow, s; and so many times that a step has to last. No source. */
export const PRIMING_S = 10;
const STEP_PRIMINGS = 3;

/** What one change of the schedule moves: a day's worth where it is spread over the day. */
export function changeL({ site }: Design): number {
  const { share, intervalDays } = site.schedule;
  return share * site.system.volumeL * Math.max(1, 1 / intervalDays);
}

/**
 * A twelfth of a change, and no less than a pump moves in three times its priming, where neither system nor vat is too
 * small for it.
 */
export function stepL(design: Design): number {
  const { site, supply, drainLpm, mixedL } = design;
  const strongestLpm = Math.max(drainLpm, supply.flowLpm ?? 0);
  const leastL = (STEP_PRIMINGS * PRIMING_S * strongestLpm) / 60;
  return Math.max(0.5, Math.min(Math.max(changeL(design) / 12, leastL), site.system.spareL / 6, mixedL / 4));
}

/** Why this plan makes no station: what moves no water. Empty where everything moves. */
export function obstacles({ transfer, supply, worst, site }: Design): string[] {
  const pump = (name: string, line: LinePlan, target: string) =>
    line.line.curve === null
      ? `no water falls ${target}: its line ends too high, and it has no pump (P-08)`
      : `the ${name} pump can't reach ${target.replace(/^into /u, '')} (P-08)`;
  return [
    ...(transfer.flowLpm === null
      ? [pump(site.onePump ? 'one' : 'transfer', transfer, 'into the mixing vat')]
      : []),
    ...(supply.flowLpm === null ? [pump(site.onePump ? 'one' : 'supply', supply, 'into the system')] : []),
    ...(worst.oldLpm <= 0 ? ['the purifier gives nothing at this line pressure (P-18)'] : []),
  ];
}

const TAP = { action: 'close', what: 'the tap', where: 'before the purifier' } as const;

function vesselsOf(design: Design): StationFile['vessels'] {
  const { site, fresh, mixing, freshMarks, mixingMarks, worst } = design;
  const { system } = site;
  const marks = systemMarksOf(site);
  const startC = degC(Math.max(site.room.temperatureC - 2, 1));
  return {
    purifier: {
      role: 'purified-water',
      name: 'Purifier',
      purityLimit: '20 uS/cm',
      stop: { outflow: TAP },
      initial: { temperature: degC(worst.temperatureC) },
    },
    fresh: {
      role: 'fresh',
      name: 'Fresh vat',
      ...vatOf(fresh, freshMarks, site.vats.freshStandMm),
      ...(system.freshUsePerDayL > 0
        ? { handDrawn: { flow: lpm(HAND_LPM), perDay: litres(system.freshUsePerDayL) } }
        : {}),
      stop: { inflow: TAP },
      initial: { contents: litres(freshMarks.stopAtL), temperature: startC },
    },
    mixing: {
      role: 'mixing',
      name: 'Mixing vat',
      ...vatOf(mixing, mixingMarks, site.vats.mixingStandMm),
      stop: { inflow: { action: 'close', what: 'the valve', where: 'under the fresh vat' } },
      initial: { contents: litres(mixingMarks.lowL), temperature: startC },
    },
    system: {
      role: 'system',
      name: system.name,
      capacity: litres(marks.capacityL),
      margin: litres(marks.marginL),
      volume: litres(system.volumeL),
      ...(system.levelM === null
        ? {}
        : { levels: { least: metres(system.levelM.least), most: metres(system.levelM.most) } }),
      initial: {
        contents: litres(system.volumeL),
        salinity: pss(system.salinity),
        temperature: degC(system.temperatureC),
      },
    },
    waste: { role: 'waste', name: site.room.floorDrain ? 'Floor drain' : 'Waste' },
  };
}

/** A bucket under a tap. No source. */
const HAND_LPM = 6;

function vatOf(vat: Vat, marks: Marks, standMm: number) {
  return {
    levels: { least: metres(standMm / 1000), most: metres(standMm / 1000 + rimM(vat)) },
    // Never more than the shape holds, not by a rounding either.
    capacity: `${Math.floor(10 * marks.capacityL) / 10} L`,
    margin: litres(marks.marginL),
    minimum: litres(marks.minimumL),
    shape: shapeFile(vat),
  };
}

function shapeFile({ shape }: Vat): ShapeFile {
  const mm = (value: number) => `${value} mm`;
  switch (shape.kind) {
    case 'upright-cylinder':
      return { kind: shape.kind, diameter: mm(shape.diameterMm), height: mm(shape.heightMm) };
    case 'lying-cylinder':
      return { kind: shape.kind, diameter: mm(shape.diameterMm), length: mm(shape.lengthMm) };
    case 'box':
      return {
        kind: shape.kind,
        length: mm(shape.lengthMm),
        width: mm(shape.widthMm),
        height: mm(shape.heightMm),
      };
  }
}

function heaterOf({ site, mixingMarks }: Design, heater: NonNullable<Design['site']['heater']>) {
  return {
    name: 'Heater',
    in: 'mixing',
    switch: 'heater-relay',
    power: `${heater.powerW} W`,
    // Lying flat below the low float: whatever can still be delivered can also be kept warm, and the float guards it.
    covered: litres(mixingMarks.lowL),
    limit: degC(site.system.temperatureC + 4),
    cutOut: degC(site.system.temperatureC + 7),
    lag: '25 min',
    losses: `${heater.lossWPerK} W/K`,
  };
}

function processOf(design: Design): StationFile['process'] {
  const { site, freshMarks, mixingMarks } = design;
  const { system, salt, schedule, mixing } = site;
  const step = stepL(design);
  const daily = schedule.intervalDays <= 1;
  const largestL = Math.max(schedule.largeShare, schedule.share) * system.volumeL;
  return {
    salinity: { target: pss(system.salinity), tolerance: '0.5 PSU' },
    temperature: {
      target: degC(system.temperatureC),
      tolerance: '0.5 K',
      least: degC(system.temperatureC - 5),
      most: degC(system.temperatureC + 2),
      systemMayMove: `${system.mayMoveK} K`,
    },
    salt: { name: salt.name, yield: `${salt.yield} kg/kg` },
    refill: { startBelow: litres(freshMarks.startBelowL), stopAt: litres(freshMarks.stopAtL) },
    batch: {
      contents: litres(mixingMarks.batchL),
      least: litres(mixingMarks.batchL / 2),
      dissolve: `${mixing.dissolveMinutes} min`,
      settle: `${mixing.settleMinutes} min`,
      steady: { within: '0.15 PSU', over: '5 min' },
      trims: 4,
      ageLimit: '14 d',
      circulate: { every: '6 h', lasts: '10 min' },
      measurementServes: '12 h',
    },
    reserve: percent(schedule.reserveShare),
    exchange: {
      system: {
        // Changes further apart than a day are asked for, by a person or a hub.
        perDay: daily ? percent(schedule.share / schedule.intervalDays) : '0 %',
        step: litres(step),
        largest: litres(Math.max(largestL, step)),
        errorBound: litres(1.5 * step),
        settle: '60 s',
        inhibitTopOff: 'top-off-inhibit',
      },
    },
  };
}
