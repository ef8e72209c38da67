// What is true about the water, whoever believes what. Kept as masses: a kilogram stays a kilogram, while litres swell
// with salt and warmth (8.9 kg of salt in 240 L make 243 L). Litres and salinity are worked out from the masses.
// Plain data: a world can be copied, compared and written down.
import type { Vessel } from '../station/plant.ts';
import { densityKgPerL, GRAMS_PER_KG_OF_PSS, specificHeat } from './seawater.ts';
import type { Waterworks } from './waterworks.ts';

export interface Body {
  /** Pure water, the salt's own crystal water included once it has dissolved. */
  waterKg: number;
  /** Sea salts in solution. */
  saltKg: number;
  /** Dry product on the bottom. */
  undissolvedKg: number;
  temperatureC: number;
  /** 0: one salinity everywhere; 1: as uneven as still water gets. */
  unmixed: number;
}

export interface Moved {
  litres: number;
  waterKg: number;
  saltKg: number;
}

export interface Run {
  /** How often it began to move water. */
  starts: number;
  /** What the present run has moved; 0 while nothing moves. */
  presentL: number;
  /** Runs into a system that ended with at least half a step moved. */
  completed: number;
}

/** The books: what moved where, and what should never have happened. By id; routes include crossings (`lines.ts`). */
export interface Ledger {
  readonly moved: Record<string, Moved>;
  readonly runs: Record<string, Run>;
  /** Over the brim. */
  readonly spilled: Record<string, Moved>;
  /** Through a hole. */
  readonly leaked: Record<string, Moved>;
  readonly drawn: Record<string, Moved>;
  /** Out of a hose that had come off, by the route. */
  readonly hose: Record<string, Moved>;
  readonly evaporatedKg: Record<string, number>;
  readonly toppedOffKg: Record<string, number>;
  readonly productAddedKg: Record<string, number>;
  readonly peakL: Record<string, number>;
  readonly hottestC: Record<string, number>;
  readonly pumpDryS: Record<string, number>;
  readonly heaterDryS: Record<string, number>;
  readonly heaterWhileDissolvingS: Record<string, number>;
  deliveredL: number;
  deliveredOffSpecL: number;
  /** Litres times degC, for the mean temperature of what was delivered. */
  deliveredWarmth: number;
  drainedL: number;
}

export interface World {
  nowMs: number;
  readonly bodies: Record<string, Body>;
  /** What each route moves now, L/min. */
  readonly flowLpm: Record<string, number>;
  readonly topOffRuns: Record<string, boolean>;
  /** Water that nobody has mopped up, L. */
  floorL: number;
  readonly ledger: Ledger;
}

/** Crystals of sea salts weigh about 2.2 kg a litre (common practice, no source). */
const UNDISSOLVED_L_PER_KG = 0.45;

export function salinityOf({ waterKg, saltKg }: Body): number {
  const kg = waterKg + saltKg;
  return kg > 0 ? (1000 * saltKg) / kg / GRAMS_PER_KG_OF_PSS : 0;
}

/** Litres of solution, without what lies undissolved on the bottom. */
export function solutionL(body: Body): number {
  return (body.waterKg + body.saltKg) / densityKgPerL(salinityOf(body), body.temperatureC);
}

/** Where the surface stands, L. */
export function litresOf(body: Body): number {
  return solutionL(body) + body.undissolvedKg * UNDISSOLVED_L_PER_KG;
}

export function bodyOf(contentsL: number, salinity: number, temperatureC: number): Body {
  const kg = contentsL * densityKgPerL(salinity, temperatureC);
  const saltKg = (kg * salinity * GRAMS_PER_KG_OF_PSS) / 1000;
  return { waterKg: kg - saltKg, saltKg, undissolvedKg: 0, temperatureC, unmixed: 0 };
}

/** Takes litres of solution out of a body, as it is mixed now. */
export function taken(body: Body, litres: number): Moved {
  const all = solutionL(body);
  if (all <= 0 || litres <= 0) return { litres: 0, waterKg: 0, saltKg: 0 };
  const share = Math.min(1, litres / all);
  const moved = { litres: share * all, waterKg: share * body.waterKg, saltKg: share * body.saltKg };
  body.waterKg -= moved.waterKg;
  body.saltKg -= moved.saltKg;
  return moved;
}

/** Pours what was taken elsewhere, at the temperature it had there. */
export function poured(body: Body, { waterKg, saltKg }: Moved, temperatureC: number): void {
  const kg = waterKg + saltKg;
  if (kg <= 0) return;
  const heldBefore = (body.waterKg + body.saltKg) * specificHeat(salinityOf(body));
  const arriving = kg * specificHeat((1000 * saltKg) / kg / GRAMS_PER_KG_OF_PSS);
  body.temperatureC = (heldBefore * body.temperatureC + arriving * temperatureC) / (heldBefore + arriving);
  body.waterKg += waterKg;
  body.saltKg += saltKg;
}

export function book(into: Moved, { litres, waterKg, saltKg }: Moved): void {
  into.litres += litres;
  into.waterKg += waterKg;
  into.saltKg += saltKg;
}

export function holdsWater(vessel: Vessel): boolean {
  return vessel.role !== 'purified-water' && vessel.role !== 'waste';
}

function each<T>(ids: readonly string[], make: (id: string) => T): Record<string, T> {
  return Object.fromEntries(ids.map((id) => [id, make(id)]));
}

const nothing = (): Moved => ({ litres: 0, waterKg: 0, saltKg: 0 });

/** The water as the station file says it stands at first. */
export function worldOf({ plant, lines }: Waterworks): World {
  const held = Object.values(plant.vessels).filter(holdsWater);
  const vessels = held.map(({ id }) => id);
  const ways = lines.map(({ route }) => route.id);
  const bodies = Object.fromEntries(
    held.map(({ id, initial }) => [id, bodyOf(initial.contentsL, initial.salinity, initial.temperatureC)]),
  );
  const pumps = Object.values(plant.actuators).filter(({ kind }) => kind === 'pump');
  const heaters = Object.keys(plant.heaters);
  return {
    nowMs: 0,
    bodies,
    flowLpm: each(ways, () => 0),
    topOffRuns: each(plant.systemIds, () => false),
    floorL: 0,
    ledger: {
      moved: each(ways, nothing),
      runs: each(ways, () => ({ starts: 0, presentL: 0, completed: 0 })),
      spilled: each(vessels, nothing),
      leaked: each(vessels, nothing),
      drawn: each(vessels, nothing),
      hose: each(ways, nothing),
      evaporatedKg: each(vessels, () => 0),
      toppedOffKg: each(vessels, () => 0),
      productAddedKg: each(vessels, () => 0),
      peakL: Object.fromEntries(held.map(({ id, initial }) => [id, initial.contentsL])),
      hottestC: Object.fromEntries(held.map(({ id, initial }) => [id, initial.temperatureC])),
      pumpDryS: Object.fromEntries(pumps.map(({ id }) => [id, 0])),
      heaterDryS: each(heaters, () => 0),
      heaterWhileDissolvingS: each(heaters, () => 0),
      deliveredL: 0,
      deliveredOffSpecL: 0,
      deliveredWarmth: 0,
      drainedL: 0,
    },
  };
}

/** A person or a doser adds dry product. */
export function addSalt(world: World, vessel: string, productKg: number): void {
  const body = world.bodies[vessel];
  if (body === undefined) throw new Error(`there is no vessel '${vessel}' to pour salt into`);
  body.undissolvedKg += productKg;
  world.ledger.productAddedKg[vessel] = (world.ledger.productAddedKg[vessel] ?? 0) + productKg;
}

/** Salted water that somebody brings, entered in the books as what it is. */
export function bring(
  world: World,
  vessel: string,
  litres: number,
  salinity: number,
  saltYield: number,
): void {
  const body = world.bodies[vessel];
  if (body === undefined || litres <= 0) return;
  const brought = bodyOf(litres, salinity, body.temperatureC);
  const productKg = brought.saltKg / saltYield;
  const { productAddedKg, toppedOffKg } = world.ledger;
  productAddedKg[vessel] = (productAddedKg[vessel] ?? 0) + productKg;
  toppedOffKg[vessel] = (toppedOffKg[vessel] ?? 0) + brought.waterKg - productKg * (1 - saltYield);
  poured(body, { litres: 0, waterKg: brought.waterKg, saltKg: brought.saltKg }, body.temperatureC);
}

/** Somebody dries the floor, so that leak sensors can fall dry again; the books keep what was spilled. */
export function mop(world: World): void {
  world.floorL = 0;
}
