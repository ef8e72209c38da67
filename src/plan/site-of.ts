// From a site file to a site: units read, defaults filled in. Nothing is computed here but sums of what the file states.
import { type Fitting, fittingLossCoefficient, type PipeEnd } from '../engineering/fittings.ts';
import { SMOOTH_PIPE_MM, STEEL_PIPE_MM } from '../engineering/hydraulics.ts';
import type { Body } from '../engineering/passage.ts';
import { curveFromOnePoint, curveFromPoints, type PumpCurve } from '../engineering/pump.ts';
import { LEAST_RESERVE_SHARE } from '../engineering/reserve.ts';
import type { Shape } from '../station/plant.ts';
import { type QuantityFormat, readStation } from '../station/quantities.ts';
import { contentsAt, heightOf, writtenShape } from '../station/shape.ts';
import type { Line as LineFile, Pump, SiteFile, Vat as VatFile } from './site.generated.ts';
import type { Line, Site, Vat } from './site.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
/** Of a vat with a lid, W/K, where the file says nothing. No source. */
export const USUAL_LOSS_W_PER_K = 6;

/** @param file accepted by `loadSite` */
export function siteOf(file: SiteFile): Site {
  const { schedule, owner } = file;
  const reserveShare = readOr(schedule.reserve, 'ratio', LEAST_RESERVE_SHARE);
  return {
    id: file.id,
    name: file.name,
    prepared: {
      for: file.prepared?.for ?? null,
      by: file.prepared?.by ?? null,
      on: file.prepared?.on ?? null,
    },
    system: systemOf(file),
    room: roomOf(file),
    ...waterOf(file),
    salt: {
      name: file.salt.name ?? 'sea salt',
      yield: readStation(file.salt.yield, 'ratio'),
      bagKg: readStation(file.salt.bag, 'mass'),
      price: file.salt.price ?? null,
    },
    mixing: {
      dissolveMinutes: readOr(file.mixing?.dissolve, 'duration-with-unit', HOUR_MS) / 60_000,
      settleMinutes: readOr(file.mixing?.settle, 'duration-with-unit', 600_000) / 60_000,
      circulationLpm: orNull(file.mixing?.circulation, 'flow'),
      circulationW: readOr(file.mixing?.circulationPower, 'power', 40),
    },
    transfer: lineOf(file.transfer),
    supply: { ...lineOf(file.supply), outletM: readStation(file.supply.outlet, 'height') / 1000 },
    drainLpm: orNull(file.drain?.flow, 'flow'),
    heater: heaterOf(file),
    schedule: {
      share: readStation(schedule.exchange.share, 'ratio'),
      intervalDays: readStation(schedule.exchange.every, 'duration-with-unit') / DAY_MS,
      largeShare: readOr(schedule.largeChange, 'ratio', reserveShare),
      reserveShare,
    },
    vats: vatsOf(file),
    solutes: (file.solutes ?? []).map((solute) => ({
      name: solute.name,
      presentMgPerL: readStation(solute.present, 'concentration'),
      targetMgPerL: readStation(solute.target, 'concentration'),
      productionMgPerLPerDay: readStation(solute.production, 'production'),
      incomingMgPerL: readOr(solute.incoming, 'concentration', 0),
    })),
    owner: {
      absenceDays: readOr(owner?.absence, 'duration-with-unit', 7 * DAY_MS) / DAY_MS,
      saltDelayHours: {
        usual: readOr(owner?.saltDelay?.usual, 'duration-with-unit', 4 * HOUR_MS) / HOUR_MS,
        longest: readOr(owner?.saltDelay?.longest, 'duration-with-unit', 2 * DAY_MS) / HOUR_MS,
      },
    },
    tariffs: tariffsOf(file),
  };
}

/** The same, or the default where nothing is written. */
const readOr = (text: string | undefined, format: QuantityFormat, otherwise: number): number =>
  text === undefined ? otherwise : readStation(text, format);
const volume = (text: string) => readStation(text, 'volume');

function orNull(text: string | undefined, format: QuantityFormat): number | null {
  return text === undefined ? null : readStation(text, format);
}

function systemOf({ system }: SiteFile): Site['system'] {
  const parts = Object.entries(system.parts).map(([name, text]) => ({ name, volumeL: volume(text) }));
  const volumeL = parts.reduce((sum, part) => sum + part.volumeL, 0);
  return {
    name: system.name ?? 'System',
    parts,
    volumeL,
    spareL: readOr(system.spare, 'volume', 0.05 * volumeL),
    salinity: readStation(system.salinity, 'salinity'),
    temperatureC: readStation(system.temperature, 'temperature'),
    mayMoveK: readOr(system.mayMove, 'temperature-difference', 0.3),
    freshUsePerDayL: readOr(system.freshUse, 'flow', 0) * 1440,
    returnPumpModel: system.returnPump?.model ?? null,
  };
}

function roomOf({ room }: SiteFile): Site['room'] {
  const mm = (text: string) => readStation(text, 'length');
  return {
    lengthMm: mm(room.length),
    widthMm: mm(room.width),
    heightMm: mm(room.height),
    temperatureC: readOr(room.temperature, 'temperature', 18),
    doors: room.doors.map(({ name, width, height }, index) => ({
      name: name ?? `Door ${index + 1}`,
      widthMm: mm(width),
      heightMm: mm(height),
    })),
    storey: room.floor.storey,
    allowedKpa: orNull(room.floor.allowedLoad, 'pressure'),
    floorDrain: room.floorDrain ?? false,
  };
}

function waterOf({ inlet, purifier }: SiteFile): Pick<Site, 'inlet' | 'purifier'> {
  const dissolvedMgPerL = readOr(inlet.dissolved, 'concentration', 300);
  return {
    inlet: {
      temperaturesC: inlet.temperatures.map((text) => readStation(text, 'temperature')),
      pressureKpa: readStation(inlet.pressure, 'pressure'),
      dissolvedMgPerL,
    },
    purifier: {
      ratedLpm: readStation(purifier.output, 'flow'),
      ratedKpa: readStation(purifier.pressure, 'pressure'),
      ratedMgPerL: readOr(purifier.dissolved, 'concentration', dissolvedMgPerL),
      recovery: readStation(purifier.recovery, 'ratio'),
      constantK: orNull(purifier.membraneConstant, 'membrane-constant') ?? undefined,
      lossPerYear: readOr(purifier.lossPerYear, 'ratio', 0.07),
      lifeDays: readOr(purifier.membraneLife, 'duration-with-unit', 730 * DAY_MS) / DAY_MS,
    },
  };
}

function tariffsOf({ tariffs }: SiteFile): Site['tariffs'] {
  if (tariffs === undefined) return null;
  const { currency, water, electricity } = tariffs;
  return {
    currency,
    water: water === undefined ? null : { price: water.price, perL: volume(water.per) },
    electricity:
      electricity === undefined
        ? null
        : { price: electricity.price, perKwh: readStation(electricity.per, 'energy') },
  };
}

function heaterOf({ heater }: SiteFile): Site['heater'] {
  if (heater === undefined) return null;
  return {
    powerW: readStation(heater.power, 'power'),
    lossWPerK: readOr(heater.losses, 'conductance', USUAL_LOSS_W_PER_K),
    withinHours: readOr(heater.within, 'duration-with-unit', 12 * HOUR_MS) / HOUR_MS,
  };
}

function lineOf({ pump, pipes, outlet }: LineFile): Line {
  return {
    model: pump.model ?? null,
    curve: curveOf(pump.curve),
    powerW: orNull(pump.power, 'power'),
    pipes: pipes.map((pipe) => {
      const diameterMm = readStation(pipe.diameter, 'length');
      const roughness = pipe.material === 'steel' ? STEEL_PIPE_MM : SMOOTH_PIPE_MM;
      return {
        lengthM: readStation(pipe.length, 'length') / 1000,
        diameterMm,
        roughnessMm: readOr(pipe.roughness, 'length', roughness),
        minorLossCoefficient: Object.entries(pipe.fittings ?? {}).reduce(
          (sum, [fitting, count]) =>
            sum + count * fittingLossCoefficient(fitting as Fitting | PipeEnd, diameterMm),
          0,
        ),
      };
    }),
    outletM: outlet === undefined ? null : readStation(outlet, 'height') / 1000,
  };
}

/** @throws CurveError, OutOfRange for a curve that is none; `loadSite` has refused it before */
export function curveOf(curve: Pump['curve']): PumpCurve {
  const points = curve.map(([flow, head]) => ({
    flowLpm: readStation(flow, 'flow'),
    headM: readStation(head, 'length') / 1000,
  }));
  const [only] = points;
  return points.length === 1 && only !== undefined ? curveFromOnePoint(only) : curveFromPoints(points);
}

function vatsOf({ vats }: SiteFile): Site['vats'] {
  const { candidates } = vats;
  return {
    candidates: typeof candidates === 'string' ? null : candidates.map(vatOf),
    fresh: vats.fresh ?? null,
    mixing: vats.mixing ?? null,
    standMm: readOr(vats.stand, 'length', 0),
    headroomMm: readOr(vats.headroom, 'length', 500),
    clearanceMm: readOr(vats.clearance, 'length', 30),
    gapMm: readOr(vats.gap, 'length', 150),
  };
}

export function vatOf(file: VatFile): Vat {
  const shape = writtenShape(file.shape);
  const capacityL = readOr(file.capacity, 'volume', contentsAt(shape, heightOf(shape)));
  return {
    name: file.name,
    shape,
    body: outsideOf(shape, readOr(file.wall, 'length', 6)),
    lying: shape.kind === 'lying-cylinder',
    capacityL,
    massKg: readOr(file.mass, 'mass', emptyMassKg(capacityL)),
    price: file.price ?? null,
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

/** Of a plastic vat with its lid, where nobody has weighed it. No source. */
export const emptyMassKg = (capacityL: number): number => 5 + capacityL / 20;
