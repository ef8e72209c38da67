// From a site file to a site: what `file/site.ts` reads from it, under the names that the plan has for it. Nothing is
// computed here but sums of what the file states.
import { type Fitting, fittingLossCoefficient, type PipeEnd } from '../engineering/fittings.ts';
import type { Body } from '../engineering/passage.ts';
import { curveFromOnePoint, curveFromPoints, type PumpCurve } from '../engineering/pump.ts';
import type { Shape } from '../station/plant.ts';
import { shapeOf } from '../station/shape.ts';
import { DAY_MS, HOUR_MS } from './file/parts.ts';
import { readSiteFile, type SiteFile, type SiteValues } from './file/site.ts';
import type { Line, Site, Vat } from './site.ts';

/** @param file accepted by `loadSite` */
export function siteOf(file: SiteFile): Site {
  const site = readSiteFile(file);
  const { salt, mixing, schedule, owner, tariffs, heater, vats } = site;
  return {
    id: site.id,
    name: site.name,
    prepared: site.prepared,
    units: site.units,
    system: systemOf(site),
    room: roomOf(site),
    ...waterOf(site),
    salt: { name: salt.name, yield: salt.yield, bagKg: salt.bag, price: salt.price },
    mixing: {
      dissolveMinutes: mixing.dissolve / 60_000,
      settleMinutes: mixing.settle / 60_000,
      circulationLpm: mixing.circulation,
      circulationW: mixing.circulationPower,
    },
    transfer: lineOf(site.transfer),
    supply: { ...lineOf(site.supply), outletM: site.supply.outlet / 1000 },
    drain: {
      lpm: site.drain?.flow ?? null,
      outletM: metresOf(site.drain?.outlet ?? null),
      siphonBreak: site.drain?.siphonBreak ?? false,
      closedAtRest: site.drain?.closedAtRest ?? false,
    },
    onePump: site.onePump,
    heater:
      heater === null
        ? null
        : { powerW: heater.power, lossWPerK: heater.losses, withinHours: heater.within / HOUR_MS },
    schedule: {
      share: schedule.exchange.share,
      intervalDays: schedule.exchange.every / DAY_MS,
      largeShare: schedule.largeChange,
      reserveShare: schedule.reserve,
    },
    vats: {
      candidates: vats.candidates?.map(vatOf) ?? null,
      fresh: vats.fresh,
      mixing: vats.mixing,
      standMm: vats.stand,
      freshStandMm: vats.freshStand,
      mixingStandMm: vats.mixingStand,
      headroomMm: vats.headroom,
      clearanceMm: vats.clearance,
      gapMm: vats.gap,
    },
    solutes: (site.solutes ?? []).map((solute) => ({
      name: solute.name,
      presentMgPerL: solute.present,
      targetMgPerL: solute.target,
      productionMgPerLPerDay: solute.production,
      incomingMgPerL: solute.incoming,
    })),
    owner: {
      absenceDays: owner.absence / DAY_MS,
      saltDelayHours: {
        usual: owner.saltDelay.usual / HOUR_MS,
        longest: owner.saltDelay.longest / HOUR_MS,
      },
    },
    tariffs:
      tariffs === null
        ? null
        : {
            currency: tariffs.currency,
            water: tariffs.water === null ? null : { price: tariffs.water.price, perL: tariffs.water.per },
            electricity:
              tariffs.electricity === null
                ? null
                : { price: tariffs.electricity.price, perKwh: tariffs.electricity.per },
          },
  };
}

function systemOf({ system }: SiteValues): Site['system'] {
  const parts = Object.entries(system.parts).map(([name, volumeL]) => ({ name, volumeL }));
  return {
    name: system.name,
    parts,
    volumeL: parts.reduce((sum, part) => sum + part.volumeL, 0),
    spareL: system.spare,
    salinity: system.salinity,
    temperatureC: system.temperature,
    mayMoveK: system.mayMove,
    freshUsePerDayL: system.freshUse * 1440,
    returnPumpModel: system.returnPump?.model ?? null,
    levelM:
      system.level === null ? null : { least: system.level.least / 1000, most: system.level.most / 1000 },
  };
}

function roomOf({ room }: SiteValues): Site['room'] {
  return {
    lengthMm: room.length,
    widthMm: room.width,
    heightMm: room.height,
    temperatureC: room.temperature,
    doors: room.doors.map(({ name, width, height }, index) => ({
      name: name ?? `Door ${index + 1}`,
      widthMm: width,
      heightMm: height,
    })),
    storey: room.floor.storey,
    allowedKpa: room.floor.allowedLoad,
    floorDrain: room.floorDrain,
  };
}

function waterOf({ inlet, purifier }: SiteValues): Pick<Site, 'inlet' | 'purifier'> {
  return {
    inlet: {
      temperaturesC: inlet.temperatures,
      pressureKpa: inlet.pressure,
      dissolvedMgPerL: inlet.dissolved,
    },
    purifier: {
      ratedLpm: purifier.output,
      ratedKpa: purifier.pressure,
      ratedMgPerL: purifier.dissolved,
      recovery: purifier.recovery,
      constantK: purifier.membraneConstant ?? undefined,
      lossPerYear: purifier.lossPerYear,
      restrictor: purifier.restrictor,
      lifeDays: purifier.membraneLife / DAY_MS,
    },
  };
}

const metresOf = (mm: number | null): number | null => (mm === null ? null : mm / 1000);

function lineOf({ pump, pipes, outlet, ends, ...line }: SiteValues['transfer']): Line {
  return {
    model: pump?.model ?? null,
    curve: pump === null ? null : curveOf(pump.curve),
    powerW: pump?.power ?? null,
    endsUnderWater: ends === 'under water',
    inletMm: line.inlet,
    intakeMm: line.intake,
    siphonBreak: line.siphonBreak,
    closedAtRest: line.closedAtRest,
    pipes: pipes.map(({ length, diameter, roughness, fittings }) => ({
      lengthM: length / 1000,
      diameterMm: diameter,
      roughnessMm: roughness,
      minorLossCoefficient: Object.entries(fittings ?? {}).reduce(
        (sum, [fitting, count]) =>
          sum + (count ?? 0) * fittingLossCoefficient(fitting as Fitting | PipeEnd, diameter),
        0,
      ),
    })),
    outletM: metresOf(outlet),
  };
}

/**
 * @param curve pairs of L/min and mm
 * @throws CurveError, OutOfRange for a curve that is none; `loadSite` has refused it before
 */
export function curveOf(curve: readonly (readonly [number, number])[]): PumpCurve {
  const points = curve.map(([flowLpm, headMm]) => ({ flowLpm, headM: headMm / 1000 }));
  const [only] = points;
  return points.length === 1 && only !== undefined ? curveFromOnePoint(only) : curveFromPoints(points);
}

function vatOf(file: NonNullable<SiteValues['vats']['candidates']>[number]): Vat {
  const shape = shapeOf(file.shape);
  return {
    name: file.name,
    shape,
    body: outsideOf(shape, file.wall),
    lying: shape.kind === 'lying-cylinder',
    capacityL: file.capacity,
    massKg: file.mass,
    price: file.price,
  };
}

/** The inside with a wall all round it. */
function outsideOf(shape: Shape, wallMm: number): Body {
  const both = 2 * wallMm;
  switch (shape.kind) {
    case 'upright-cylinder':
      return {
        kind: 'cylinder',
        diameterMm: shape.diameterMm + both,
        lengthMm: shape.heightMm + both,
      };
    case 'lying-cylinder':
      return {
        kind: 'cylinder',
        diameterMm: shape.diameterMm + both,
        lengthMm: shape.lengthMm + both,
      };
    case 'box':
      return {
        kind: 'box',
        lengthMm: shape.lengthMm + both,
        widthMm: shape.widthMm + both,
        heightMm: shape.heightMm + both,
      };
  }
}
