// What happens inside the vessels once the pipes have done their piece: salt dissolves, heat comes and goes, water
// evaporates, is drawn by hand, leaks, and runs over the brim.
import { chance } from './chance.ts';
import { specificHeat } from './seawater.ts';
import type { Drive } from './water.ts';
import type { Waterworks } from './waterworks.ts';
import {
  addSalt,
  type Body,
  bodyOf,
  book,
  litresOf,
  type Moved,
  poured,
  salinityOf,
  taken,
  type World,
} from './world.ts';

/** Still water grows uneven over some twenty minutes, and is even again within a minute or two of circulation. */
const UNEVEN_TAU_MS = 20 * 60_000;
const EVEN_TAU_MS = 30_000;
/** A living system is held warm by its keeper's own thermostat. */
const KEEPER_TAU_MS = 3 * 3_600_000;
/** Open water in a room loses about this share a day (common practice, no source). */
const EVAPORATES_PER_DAY = 0.004;
/** The keeper's top-off starts this share of the volume below its mark, and brings this share a minute. */
const TOP_OFF_STARTS_BELOW = 0.001;
const TOP_OFF_PER_MINUTE = 0.0006;
/** A gram in a litre is about 1 in salinity: what is left counts once it could move the batch out of its tolerance. */
const KG_PER_L_PER_SALINITY = 0.001;
/** Bare plastic against room air, W/(m2 K), and the skin of a vessel of one cubic metre, m2 (no source). */
const SKIN_W_PER_M2K = 5;
const SKIN_M2 = 5.5;
const MS_PER_DAY = 86_400_000;

export function afterwards(works: Waterworks, world: World, drive: Drive, pieceMs: number): void {
  dose(works, world, drive, pieceMs);
  for (const id in world.bodies) {
    const body = world.bodies[id];
    if (body === undefined) continue;
    stir(works, world, drive, id, body, pieceMs);
    warm(works, drive, id, body, world, pieceMs);
    draw(works, world, drive, id, body, pieceMs);
    leak(world, drive, id, body, pieceMs);
    if (works.plant.vessels[id]?.role === 'system') keep(works, world, drive, id, body, pieceMs);
    spill(works, world, drive, id, body);
  }
}

function dose({ plant }: Waterworks, world: World, { on }: Drive, pieceMs: number): void {
  for (const { vessel, actuator, rateKgPerMin } of Object.values(plant.dosers)) {
    if (on(actuator)) addSalt(world, vessel, (rateKgPerMin * pieceMs) / 60_000);
  }
}

function stir(works: Waterworks, world: World, drive: Drive, id: string, body: Body, pieceMs: number): void {
  if (circulates(works, world, drive, id)) {
    body.unmixed *= Math.exp(-pieceMs / EVEN_TAU_MS);
    if (body.undissolvedKg > 0) dissolve(works, body, pieceMs);
  } else {
    body.unmixed = 1 - (1 - body.unmixed) * Math.exp(-pieceMs / UNEVEN_TAU_MS);
  }
}

/** A system is turned over by its own pumps; a vat without a loop is taken to be stirred by hand. */
function circulates(
  { loops, plant }: Waterworks,
  { flowLpm }: World,
  { faults }: Drive,
  id: string,
): boolean {
  if (plant.vessels[id]?.role === 'system') return faults.at('return-stopped', id) === undefined;
  const own = loops[id];
  if (own === undefined) return true;
  return own.some(({ route }) => (flowLpm[route.id] ?? 0) > 0.2 * route.flowLeastLpm);
}

function dissolve({ dissolveTauMs, saltYield }: Waterworks, body: Body, pieceMs: number): void {
  const kg = body.undissolvedKg * (1 - Math.exp(-pieceMs / dissolveTauMs));
  body.undissolvedKg -= kg;
  body.saltKg += kg * saltYield;
  body.waterKg += kg * (1 - saltYield);
}

function warm(works: Waterworks, { on }: Drive, id: string, body: Body, world: World, pieceMs: number): void {
  const { plant, roomC } = works;
  const litres = litresOf(body);
  let powerW = 0;
  let lossWPerK = 0;
  for (const heater of Object.values(plant.heaters)) {
    if (heater.vessel !== id) continue;
    lossWPerK += heater.lossWPerK;
    if (!on(heater.actuator)) continue;
    if (heater.cutOutC !== null && body.temperatureC >= heater.cutOutC) continue;
    const covered = litres >= (works.coverL[heater.id] ?? 0);
    const { heaterDryS, heaterWhileDissolvingS } = world.ledger;
    if (covered) powerW += heater.powerW;
    else heaterDryS[heater.id] = (heaterDryS[heater.id] ?? 0) + pieceMs / 1000;
    if (body.undissolvedKg > plant.process.salinity.tolerance * KG_PER_L_PER_SALINITY * litres) {
      heaterWhileDissolvingS[heater.id] = (heaterWhileDissolvingS[heater.id] ?? 0) + pieceMs / 1000;
    }
  }
  const vessel = plant.vessels[id];
  if (vessel?.role === 'system') {
    const kept = vessel.initial.temperatureC;
    body.temperatureC = kept + (body.temperatureC - kept) * Math.exp(-pieceMs / KEEPER_TAU_MS);
  } else {
    if (lossWPerK === 0) lossWPerK = SKIN_W_PER_M2K * SKIN_M2 * (litres / 1000) ** (2 / 3);
    settle(body, powerW, lossWPerK, roomC, pieceMs);
  }
  const { hottestC } = world.ledger;
  hottestC[id] = Math.max(hottestC[id] ?? 0, body.temperatureC);
}

/** m c dT/dt = P - UA (T - room), solved exactly over the piece. */
function settle(body: Body, powerW: number, lossWPerK: number, roomC: number, pieceMs: number): void {
  const heldJPerK = (body.waterKg + body.saltKg) * specificHeat(salinityOf(body));
  if (heldJPerK <= 0 || lossWPerK <= 0) return;
  const end = roomC + powerW / lossWPerK;
  const after = end + (body.temperatureC - end) * Math.exp((-pieceMs / 1000) * (lossWPerK / heldJPerK));
  // Past here it boils, and a puddle under a stuck heater would otherwise glow.
  body.temperatureC = Math.min(95, after);
}

function draw(
  works: Waterworks,
  world: World,
  { faults }: Drive,
  id: string,
  body: Body,
  pieceMs: number,
): void {
  const lpm = faults.amount('drawn-by-hand', id);
  const litres =
    lpm === undefined ? bucketL(works, world.nowMs, id, body, pieceMs) : (lpm * pieceMs) / 60_000;
  const entry = world.ledger.drawn[id];
  if (litres > 0 && entry !== undefined) book(entry, taken(body, litres));
}

/**
 * Where people may draw water they do: twice a day, at some time between seven and seven, well within what is allowed.
 * Litres of this piece of time.
 */
function bucketL(works: Waterworks, nowMs: number, id: string, body: Body, pieceMs: number): number {
  const { plant, seed, startMinute } = works;
  const vessel = plant.vessels[id];
  if (vessel === undefined || vessel.handDrawn === null) return 0;
  const { flowLpm, perDayL } = vessel.handDrawn;
  if (flowLpm <= 0 || litresOf(body) <= vessel.minimumL) return 0;
  const todayMs = (nowMs + startMinute * 60_000) % MS_PER_DAY;
  const day = Math.floor((nowMs + startMinute * 60_000) / MS_PER_DAY);
  let litres = 0;
  for (const key of works.bucketKeys[id] ?? []) {
    const startMs = (7 + 12 * chance(seed, key, 2 * day)) * 3_600_000;
    const endMs = startMs + ((perDayL * (0.15 + 0.3 * chance(seed, key, 2 * day + 1))) / flowLpm) * 60_000;
    const drawnMs = Math.min(endMs, todayMs + pieceMs) - Math.max(startMs, todayMs);
    litres += (flowLpm * Math.max(0, drawnMs)) / 60_000;
  }
  return litres;
}

function leak(world: World, { faults }: Drive, id: string, body: Body, pieceMs: number): void {
  const lpm = faults.amount('leaks', id);
  if (lpm !== undefined) toFloor(world, world.ledger.leaked[id], taken(body, (lpm * pieceMs) / 60_000));
}

function toFloor(world: World, entry: Moved | undefined, lost: Moved): void {
  if (entry !== undefined) book(entry, lost);
  world.floorL += lost.litres;
}

/**
 * Evaporation and the keeper's own top-off, where the station knows of one. Elsewhere somebody tops up by hand, and the
 * two cancel.
 */
function keep(
  works: Waterworks,
  world: World,
  { on, faults }: Drive,
  id: string,
  body: Body,
  pieceMs: number,
): void {
  const vessel = works.plant.vessels[id];
  const inhibit = works.plant.process.exchange[id]?.inhibitTopOff ?? null;
  const forced = faults.at('top-off-runs', id) !== undefined;
  if (vessel === undefined || (vessel.topOff === null && inhibit === null && !forced)) return;
  const volumeL = vessel.volumeL;
  const lostKg = Math.min(body.waterKg, (volumeL * EVAPORATES_PER_DAY * pieceMs) / MS_PER_DAY);
  body.waterKg -= lostKg;
  world.ledger.evaporatedKg[id] = (world.ledger.evaporatedKg[id] ?? 0) + lostKg;
  const markL = vessel.initial.contentsL;
  const seenL = litresOf(body) + (faults.amount('return-stopped', id) ?? 0);
  const wanted = seenL < markL - (world.topOffRuns[id] ? 0 : TOP_OFF_STARTS_BELOW * volumeL);
  const runs = (wanted || forced) && !(inhibit !== null && on(inhibit));
  world.topOffRuns[id] = runs;
  if (!runs) return;
  const added = bodyOf((volumeL * TOP_OFF_PER_MINUTE * pieceMs) / 60_000, 0, works.roomC);
  poured(body, { litres: 0, waterKg: added.waterKg, saltKg: 0 }, works.roomC);
  world.ledger.toppedOffKg[id] = (world.ledger.toppedOffKg[id] ?? 0) + added.waterKg;
}

function spill({ plant }: Waterworks, world: World, { faults }: Drive, id: string, body: Body): void {
  const litres = litresOf(body);
  const { peakL } = world.ledger;
  peakL[id] = Math.max(peakL[id] ?? 0, litres);
  const brimL =
    (plant.vessels[id]?.capacityL ?? Number.POSITIVE_INFINITY) - (faults.amount('return-stopped', id) ?? 0);
  if (litres > brimL) toFloor(world, world.ledger.spilled[id], taken(body, litres - brimL));
}
