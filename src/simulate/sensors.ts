// What each sensor sees: the truth, a small error of its own that stays, a little noise, and the resolution with which it
// reports. Values are in the house unit; `payloads.ts` says them the way the station's devices speak.
import type { ConductivitySensor, FloatSensor, Plant, Sensor, TotalSensor } from '../station/plant.ts';
import { chance, keyOf, sway } from './chance.ts';
import type { Faults } from './faults.ts';
import { conductivityFromSalinity } from './seawater.ts';
import { PURIFIED_MS_PER_CM } from './water.ts';
import type { Waterworks } from './waterworks.ts';
import { litresOf, salinityOf, type World } from './world.ts';

/** A tray shows wet from here on, L. */
const TRAY_WET_L = 0.2;
/** Still water reads low by up to this share: the salt lies below the probe. */
const UNEVEN_SHARE = 0.03;
const NOISE = { flow: 0.005, temperatureK: 0.02, conductivity: 0.0005 };
const OWN_ERROR = { flow: 0.5, total: 0.5, level: 0.3, temperature: 0.4, conductivity: 0.001 };
const RESOLUTION = { temperatureK: 0.05, thinMsPerCm: 0.0005, saltyMsPerCm: 0.025, levelL: 0.5, flow: 0.01 };
const FINE_COUNT_L = 0.001;
const LEAST_CONDUCTIVITY_MS_PER_CM = 0.001;

interface Memory {
  /** Floats: the last position. */
  wet: boolean;
  /** Totals: the runs and litres up to its last look, what it has counted, and what this run may still lose, L. */
  starts: number;
  trueL: number;
  countedL: number;
  toLoseL: number;
}

export interface Eye {
  readonly sensor: Sensor;
  readonly key: number;
  /** What it sees now, before any fault. */
  readonly look: () => number | boolean;
  /** A change smaller than this is not worth a message. */
  readonly resolution: number;
  /** What it sees depends on what it saw before. */
  readonly remembers: boolean;
  /** Totals only: start again from 0. */
  readonly reset: () => void;
}

export function eyeOf(works: Waterworks, world: World, faults: Faults, sensor: Sensor): Eye {
  const key = keyOf(`sensor ${sensor.id}`);
  const memory: Memory = { wet: false, starts: 0, trueL: 0, countedL: 0, toLoseL: 0 };
  const own = sway(works.seed, key);
  const noise = () => sway(works.seed, key, Math.floor(world.nowMs / 1000) + 10);
  const look = lookOf(works, world, faults, sensor, memory, own, noise);
  const reset = () => {
    memory.countedL = 0;
  };
  const remembers = sensor.measures === 'float' || sensor.measures === 'total';
  return { sensor, key, look, resolution: resolutionOf(works.plant, sensor), remembers, reset };
}

/** A change smaller than this is not worth a message; house unit. */
export function resolutionOf(plant: Plant, sensor: Sensor): number {
  switch (sensor.measures) {
    case 'level':
      return Math.min(RESOLUTION.levelL, (plant.vessels[sensor.vessel]?.capacityL ?? 0) / 500);
    case 'flow':
      return RESOLUTION.flow * (plant.routes[sensor.route]?.flowUsualLpm ?? 0);
    case 'total':
      return FINE_COUNT_L;
    case 'temperature':
      return RESOLUTION.temperatureK;
    case 'conductivity':
      return thin(plant, sensor.vessel) ? RESOLUTION.thinMsPerCm : RESOLUTION.saltyMsPerCm;
    case 'float':
    case 'leak':
    case 'top-off':
      return 0;
  }
}

/** Fresh and purified water is measured with another probe than seawater. */
function thin({ vessels }: Plant, vessel: string): boolean {
  const role = vessels[vessel]?.role;
  return role === 'purified-water' || role === 'fresh';
}

function lookOf(
  works: Waterworks,
  world: World,
  faults: Faults,
  sensor: Sensor,
  memory: Memory,
  own: number,
  noise: () => number,
): () => number | boolean {
  switch (sensor.measures) {
    case 'float':
      return () => float(world, faults, sensor, memory, own);
    case 'leak':
      return () => world.floorL > TRAY_WET_L;
    case 'top-off':
      return () => world.topOffRuns[sensor.vessel] ?? false;
    case 'level':
      return () =>
        Math.max(
          0,
          standing(world, faults, sensor.vessel) +
            sensor.uncertaintyL * (OWN_ERROR.level * own + 0.1 * noise()),
        );
    case 'flow': {
      const past = passingBy(works, sensor.route);
      return () => {
        const lpm = metered(past, (id) => world.flowLpm[id]);
        if (lpm < 0.3 * sensor.zeroLpm) return 0;
        return lpm * (1 + OWN_ERROR.flow * sensor.uncertainty * own + NOISE.flow * noise());
      };
    }
    case 'total': {
      const past = passingBy(works, sensor.route);
      return () => total(past, world, faults, sensor, memory, own);
    }
    case 'temperature':
      return () =>
        temperatureAt(works, world, sensor.vessel) +
        OWN_ERROR.temperature * sensor.uncertaintyK * own +
        NOISE.temperatureK * noise();
    case 'conductivity':
      return () => {
        const seen = conductivityAt(world, faults, sensor.vessel, compensatedTo(faults, sensor));
        return seen * (1 + OWN_ERROR.conductivity * own + NOISE.conductivity * noise());
      };
  }
}

function standing(world: World, faults: Faults, vessel: string): number {
  const body = world.bodies[vessel];
  return body === undefined ? 0 : litresOf(body) + (faults.amount('return-stopped', vessel) ?? 0);
}

/** Turns over somewhere inside its tolerance, and falls back a little lower than it rose. */
function float(world: World, faults: Faults, sensor: FloatSensor, memory: Memory, own: number): boolean {
  const risesL = sensor.markL + 0.6 * sensor.toleranceL * own;
  const fallsL = risesL - 0.3 * sensor.toleranceL;
  memory.wet = standing(world, faults, sensor.vessel) >= (memory.wet ? fallsL : risesL);
  return memory.wet;
}

/** Counts from what moved since it last looked; the first litres of a run may slip through a wheel that still stands. */
function total(
  past: readonly string[],
  world: World,
  faults: Faults,
  sensor: TotalSensor,
  memory: Memory,
  own: number,
): number {
  const trueL = metered(past, (id) => world.ledger.moved[id]?.litres);
  const starts = metered(past, (id) => world.ledger.runs[id]?.starts);
  if (starts > memory.starts) {
    memory.toLoseL = faults.amount('loses-first', sensor.id) ?? 0.5 * sensor.lostAtStartL;
  }
  const passedL = trueL - memory.trueL;
  const lostL = Math.min(passedL, memory.toLoseL);
  memory.starts = starts;
  memory.trueL = trueL;
  memory.toLoseL -= lostL;
  memory.countedL += (passedL - lostL) * (1 + OWN_ERROR.total * sensor.uncertainty * own);
  // A pulse comes whole.
  const shownL = sensor.inPulses
    ? Math.floor(memory.countedL / sensor.countL + 1e-9) * sensor.countL
    : memory.countedL;
  return sensor.wrapsAtL === null ? shownL : shownL % sensor.wrapsAtL;
}

/** A meter sits where its route ends, and sees whatever comes by there. */
const passingBy = ({ lines }: Waterworks, route: string): readonly string[] =>
  lines.flatMap((line) => (line.meteredAs.includes(route) ? [line.route.id] : []));

function metered(past: readonly string[], amount: (line: string) => number | undefined): number {
  let sum = 0;
  for (const line of past) sum += amount(line) ?? 0;
  return sum;
}

function temperatureAt({ plant }: Waterworks, world: World, vessel: string): number {
  return world.bodies[vessel]?.temperatureC ?? plant.vessels[vessel]?.initial.temperatureC ?? 15;
}

/** What the probe does, which need not be what its entry in the file says. */
function compensatedTo(faults: Faults, { id, compensatedToC }: ConductivitySensor): number | null {
  if (faults.at('uncompensated', id) !== undefined) return null;
  return faults.amount('compensates-to', id) ?? compensatedToC;
}

function conductivityAt(world: World, faults: Faults, vessel: string, compensatedToC: number | null): number {
  const body = world.bodies[vessel];
  // In the purifier's line the probe sees what comes out of it, at its temperature; so thin a water needs no formula.
  if (body === undefined) return faults.amount('exhausted', vessel) ?? PURIFIED_MS_PER_CM;
  const salinity = salinityOf(body) * (1 - UNEVEN_SHARE * body.unmixed);
  const atC = compensatedToC ?? body.temperatureC;
  return Math.max(LEAST_CONDUCTIVITY_MS_PER_CM, conductivityFromSalinity(salinity, atC));
}

/** A counter in litres or gallons is read to its last digit. */
const countOf = ({ countL, inPulses }: TotalSensor): number => (inPulses ? countL : FINE_COUNT_L);

/** What a fault makes of a look. */
export function distorted(
  eye: Eye,
  faults: Faults,
  seed: number,
  nowMs: number,
  seen: number | boolean,
  frozen: number | boolean | undefined,
): number | boolean {
  const { id } = eye.sensor;
  const said = faults.at('says', id);
  if (said !== undefined) return wordValue(said.value, typeof seen === 'boolean');
  if (frozen !== undefined) return frozen;
  if (typeof seen === 'boolean') {
    if (faults.at('swapped', id) !== undefined) return !seen;
    if (faults.at('chatters', id) === undefined) return seen;
    return chance(seed, eye.key, Math.floor(nowMs / 500) + 10) < 0.5;
  }
  const counts = faults.amount('wobbles', id);
  if (counts !== undefined && eye.sensor.measures === 'total')
    return (
      seen + (chance(seed, eye.key, Math.floor(nowMs / 250) + 10) < 0.5 ? 0 : counts * countOf(eye.sensor))
    );
  return seen * (1 - (faults.amount('reads-low', id) ?? 0));
}

/**
 * The value of `says`: for a contact wet, running, yes, true, on (and their opposites), else a number in the house unit.
 * @throws Error naming what would do.
 */
export function wordValue(text: string, isContact: boolean): number | boolean {
  if (isContact) {
    if (/^(wet|running|yes|true|on)$/u.test(text)) return true;
    if (/^(dry|resting|no|false|off)$/u.test(text)) return false;
    throw new Error(`a contact can't say '${text}'; it says wet or dry, running or resting`);
  }
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value))
    throw new Error(`'${text}' is not a number in the house unit`);
  return value;
}
