// The station that a plan describes, as a station file: everything that full protection needs, with the plan's own marks
// and flows. Its topics are placeholders under the site's id; a person fills in the real ones.
//
// The plan also reads its list of hardware off this station, so that what is advised and what the core guards can not
// drift apart.
import type { StationFile } from '../station/file/station.ts';
import type { ShapeFile } from '../station/shape.ts';
import { type Design, NOMINAL_LPM } from './design.ts';
import type { LinePlan } from './lines.ts';
import type { Marks } from './marks.ts';
import type { Vat } from './site.ts';
import { actuatorsOf, sensorsOf } from './station-devices.ts';
import { litres, type Pace, seconds, systemMarks, USUAL_PACE } from './station-parts.ts';

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

const lpm = (value: number): string => `${Number(value.toPrecision(3))} L/min`;
const degC = (value: number): string => `${Number(value.toFixed(1))} degC`;
const percent = (share: number): string => `${Number((100 * share).toPrecision(4))} %`;
const pss = (value: number): string => `${Number(value.toFixed(2))} PSU`;

/** A twelfth of a day's exchange, where neither system nor vat is too small for it. */
export function stepL({ site, exchangePerDayL, mixedL }: Design): number {
  return Math.max(0.5, Math.min(exchangePerDayL / 12, site.system.spareL / 6, mixedL / 4));
}

/** Why this plan makes no station: what moves no water. Empty where everything moves. */
export function obstacles({ transfer, supply, worst }: Design): string[] {
  return [
    ...(transfer.flowLpm === null ? ["the transfer pump can't reach the mixing vat (P-08)"] : []),
    ...(supply.flowLpm === null ? ["the supply pump can't reach the system (P-08)"] : []),
    ...(worst.oldLpm <= 0 ? ['the purifier gives nothing at this line pressure (P-18)'] : []),
  ];
}

const TAP = { action: 'close', what: 'the tap', where: 'before the purifier' } as const;

function vesselsOf(design: Design): StationFile['vessels'] {
  const { site, fresh, mixing, freshMarks, mixingMarks, worst } = design;
  const { system } = site;
  const marks = systemMarks(design);
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
      ...vatOf(fresh, freshMarks),
      ...(system.freshUsePerDayL > 0
        ? { handDrawn: { flow: lpm(HAND_LPM), perDay: litres(system.freshUsePerDayL) } }
        : {}),
      stop: { inflow: TAP },
      initial: { contents: litres(freshMarks.stopAtL), temperature: startC },
    },
    mixing: {
      role: 'mixing',
      name: 'Mixing vat',
      ...vatOf(mixing, mixingMarks),
      stop: { inflow: { action: 'close', what: 'the valve', where: 'under the fresh vat' } },
      initial: { contents: litres(mixingMarks.lowL), temperature: startC },
    },
    system: {
      role: 'system',
      name: system.name,
      capacity: litres(marks.capacityL),
      margin: litres(marks.marginL),
      volume: litres(system.volumeL),
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

function vatOf(vat: Vat, marks: Marks) {
  return {
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

function routesOf(design: Design): StationFile['routes'] {
  const { worst, best, transfer, supply, drainLpm, circulationLpm } = design;
  const pumped = { priming: '10 s', runDown: '10 s', minimumRest: '30 s' };
  const around = (value: number, share: number) => ({
    least: lpm(value * (1 - share)),
    most: lpm(value * (1 + share)),
    usual: lpm(value),
  });
  return {
    refill: {
      name: 'Refill',
      from: 'purifier',
      to: 'fresh',
      through: ['inlet-valve'],
      flow: {
        least: lpm(0.9 * (worst.oldLpm || 0.1)),
        most: lpm(1.1 * (best.newLpm || 0.2)),
      },
      priming: '60 s',
      runDown: '10 s',
      minimumRest: '5 min',
      startsPerHour: 6,
    },
    transfer: {
      name: 'Transfer',
      from: 'fresh',
      to: 'mixing',
      through: ['transfer-pump'],
      flow: flowRange(transfer),
      ...pumped,
    },
    circulate: {
      name: 'Circulation',
      from: 'mixing',
      to: 'mixing',
      through: ['circulation-pump'],
      flow: around(circulationLpm, 0.25),
      minimumRun: '60 s',
      ...pumped,
    },
    supply: {
      name: 'Supply',
      from: 'mixing',
      to: 'system',
      through: ['supply-pump'],
      flow: flowRange(supply),
      ...pumped,
    },
    drain: {
      name: 'Drain',
      from: 'system',
      to: 'waste',
      through: ['drain-pump'],
      flow: around(drainLpm, 0.15),
      ...pumped,
    },
  };
}

/** What the curve allows between a worn pump and a new one; a nominal flow where the plan says that it does not work. */
function flowRange({ expected, flowLpm }: LinePlan) {
  if (expected.kind === 'between') {
    const { leastLpm, mostLpm } = expected;
    const usual = Math.min(Math.max(flowLpm ?? leastLpm, leastLpm), mostLpm);
    return { least: lpm(0.98 * leastLpm), most: lpm(1.02 * mostLpm), usual: lpm(usual) };
  }
  const usual = flowLpm ?? NOMINAL_LPM;
  return { least: lpm(0.7 * usual), most: lpm(1.3 * usual), usual: lpm(usual) };
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
