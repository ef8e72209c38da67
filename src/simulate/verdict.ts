// The judge of the day. Knows the water and nothing of whoever commanded it: its own mass balance, its own salinity, and
// what can be read off a floor, a pump and a vat. `ok` means every sentence of `found` is missing.
import type { Plant } from '../station/plant.ts';
import { balanceErrorShare } from './balance.ts';
import { GRAMS_PER_KG_OF_PSS } from './seawater.ts';
import type { Twin } from './twin.ts';
import { litresOf, type Moved, salinityOf } from './world.ts';

export interface VesselVerdict {
  readonly litres: number;
  readonly salinity: number;
  readonly temperatureC: number;
  readonly undissolvedKg: number;
  readonly peakL: number;
  readonly hottestC: number;
  readonly spilledL: number;
  readonly leakedL: number;
  readonly drawnL: number;
}

export interface Verdict {
  readonly ok: boolean;
  /** Why not: one sentence each. */
  readonly found: readonly string[];
  readonly station: string;
  readonly seed: number;
  readonly elapsedMs: number;
  /** The worst of the balances of water and of salt, over the whole station and over each vessel, as a share. */
  readonly balanceErrorShare: number;
  /** By route; water that took a way which no route names is listed as `fresh>system by pump`. */
  readonly litresMoved: Readonly<Record<string, number>>;
  readonly starts: Readonly<Record<string, number>>;
  /** By route: what ran out of a hose that had come off. */
  readonly hoseL: Readonly<Record<string, number>>;
  readonly vessels: Readonly<Record<string, VesselVerdict>>;
  /** Over the brims of all vessels, and all pumps run dry together. */
  readonly spilledL: number;
  readonly dryS: number;
  /** The most that each vessel ever held. */
  readonly peakL: Readonly<Record<string, number>>;
  /** Of the mixing vat at the end. */
  readonly finalSalinity: number | null;
  readonly finalTemperatureC: number | null;
  /** By pump. */
  readonly secondsDry: Readonly<Record<string, number>>;
  /** By heater. */
  readonly heaterDryS: Readonly<Record<string, number>>;
  readonly heaterWhileDissolvingS: Readonly<Record<string, number>>;
  readonly deliveries: number;
  readonly deliveredL: number;
  readonly deliveredOffSpecL: number;
  /** Means over everything delivered; null where nothing was. */
  readonly deliveredSalinity: number | null;
  readonly deliveredTemperatureC: number | null;
  readonly drainedL: number;
  readonly saltAddedKg: number;
  readonly toppedOffKg: number;
  readonly evaporatedKg: number;
  /** Commands that reached a device, by actuator. */
  readonly commands: Readonly<Record<string, number>>;
  /** How often a lease ended by itself, by actuator. */
  readonly dropOuts: Readonly<Record<string, number>>;
}

export type Books = Omit<Verdict, 'ok' | 'found'>;

export const BALANCE_LIMIT = 0.005;
/** Physics runs in pieces of a second: less than that is not a dry run. */
const DRY_LIMIT_S = 1;
const OVERFLOW_LIMIT_L = 1e-6;
const OFF_SPEC_LIMIT_L = 1e-6;

export function verdictOf(twin: Twin): Verdict {
  const { plant, world, relays, seed } = twin;
  const { ledger } = world;
  const deliveredKg = delivered(twin);
  const kg = deliveredKg.waterKg + deliveredKg.saltKg;
  const mixed = world.bodies[plant.mixingId];
  const books: Books = {
    station: plant.id,
    seed,
    elapsedMs: world.nowMs,
    balanceErrorShare: balanceErrorShare(twin),
    litresMoved: used(
      twin,
      mapped(ledger.moved, ({ litres }) => litres),
    ),
    starts: used(
      twin,
      mapped(ledger.runs, ({ starts }) => starts),
    ),
    hoseL: mapped(ledger.hose, ({ litres }) => litres),
    vessels: mapped(world.bodies, (body, id) => ({
      litres: litresOf(body),
      salinity: salinityOf(body),
      temperatureC: body.temperatureC,
      undissolvedKg: body.undissolvedKg,
      peakL: ledger.peakL[id] ?? 0,
      hottestC: ledger.hottestC[id] ?? 0,
      spilledL: ledger.spilled[id]?.litres ?? 0,
      leakedL: ledger.leaked[id]?.litres ?? 0,
      drawnL: ledger.drawn[id]?.litres ?? 0,
    })),
    spilledL: sum(mapped(ledger.spilled, ({ litres }) => litres)),
    dryS: sum(ledger.pumpDryS),
    peakL: { ...ledger.peakL },
    finalSalinity: mixed === undefined ? null : salinityOf(mixed),
    finalTemperatureC: mixed?.temperatureC ?? null,
    secondsDry: { ...ledger.pumpDryS },
    heaterDryS: { ...ledger.heaterDryS },
    heaterWhileDissolvingS: { ...ledger.heaterWhileDissolvingS },
    deliveries: sum(mapped(ledger.runs, ({ completed }) => completed)),
    deliveredL: ledger.deliveredL,
    deliveredOffSpecL: ledger.deliveredOffSpecL,
    deliveredSalinity: kg > 0 ? (1000 * deliveredKg.saltKg) / kg / GRAMS_PER_KG_OF_PSS : null,
    deliveredTemperatureC: ledger.deliveredL > 0 ? ledger.deliveredWarmth / ledger.deliveredL : null,
    drainedL: ledger.drainedL,
    saltAddedKg: sum(ledger.productAddedKg),
    toppedOffKg: sum(ledger.toppedOffKg),
    evaporatedKg: sum(ledger.evaporatedKg),
    commands: mapped(relays.all, ({ commands }) => commands),
    dropOuts: mapped(relays.all, ({ dropOuts }) => dropOuts),
  };
  const found = [...harmFound(plant, books), ...goalsMissed(plant, books)];
  return { ok: found.length === 0, found, ...books };
}

/** What must never happen, whatever else is wrong. */
export function harmFound(plant: Plant, books: Books): readonly string[] {
  const found: string[] = [];
  if (books.balanceErrorShare > BALANCE_LIMIT) {
    found.push(
      `the books do not balance: ${(100 * books.balanceErrorShare).toFixed(2)} % is missing or too much`,
    );
  }
  for (const [id, { spilledL, peakL }] of Object.entries(books.vessels)) {
    if (spilledL > OVERFLOW_LIMIT_L) {
      found.push(
        `${id} ran over: ${spilledL.toFixed(1)} L on the floor, ${peakL.toFixed(1)} L at the highest`,
      );
    }
  }
  for (const [id, litres] of Object.entries(books.hoseL)) {
    if (litres > 0) found.push(`${litres.toFixed(1)} L of ${id} ran onto the floor`);
  }
  for (const [id, seconds] of Object.entries(books.secondsDry)) {
    if (seconds > DRY_LIMIT_S) found.push(`${id} ran dry for ${seconds.toFixed(1)} s`);
  }
  for (const [id, seconds] of Object.entries(books.heaterDryS)) {
    if (seconds > 0) found.push(`${id} was on above the water for ${seconds.toFixed(1)} s`);
  }
  for (const [id, seconds] of Object.entries(books.heaterWhileDissolvingS)) {
    if (seconds > 0) found.push(`${id} was on for ${seconds.toFixed(1)} s while salt lay undissolved`);
  }
  if (books.deliveredOffSpecL > OFF_SPEC_LIMIT_L) {
    const { target, tolerance } = plant.process.salinity;
    found.push(
      `${books.deliveredOffSpecL.toFixed(1)} L were delivered outside ${target} +- ${tolerance} or too cold or warm`,
    );
  }
  return found;
}

/** What a day without trouble should have reached. */
export function goalsMissed(plant: Plant, books: Books): readonly string[] {
  if (books.deliveries === 0) return ['no delivery to a system was completed'];
  const found: string[] = [];
  const { salinity, temperature } = plant.process;
  const { deliveredSalinity, deliveredTemperatureC } = books;
  if (deliveredSalinity !== null && Math.abs(deliveredSalinity - salinity.target) > salinity.tolerance) {
    found.push(
      `what was delivered has salinity ${deliveredSalinity.toFixed(2)}, not ${salinity.target} +- ${salinity.tolerance}`,
    );
  }
  if (temperature !== null && deliveredTemperatureC !== null) {
    const { leastC, mostC } = temperature;
    if (deliveredTemperatureC < leastC || deliveredTemperatureC > mostC) {
      found.push(
        `what was delivered has ${deliveredTemperatureC.toFixed(1)} degC, not ${leastC} to ${mostC} degC`,
      );
    }
  }
  return found;
}

function delivered({ works, world }: Twin): Moved {
  const all: Moved = { litres: 0, waterKg: 0, saltKg: 0 };
  for (const { route, toSystem } of works.lines) {
    if (!toSystem) continue;
    const { id } = route;
    const moved = world.ledger.moved[id];
    const lost = world.ledger.hose[id];
    all.waterKg += (moved?.waterKg ?? 0) - (lost?.waterKg ?? 0);
    all.saltKg += (moved?.saltKg ?? 0) - (lost?.saltKg ?? 0);
  }
  return all;
}

/** Every listed route, and of the crossings those that were used. */
function used({ plant }: Twin, books: Record<string, number>): Record<string, number> {
  return Object.fromEntries(Object.entries(books).filter(([id, amount]) => id in plant.routes || amount > 0));
}

function mapped<T, U>(
  record: Readonly<Record<string, T>>,
  make: (value: T, id: string) => U,
): Record<string, U> {
  return Object.fromEntries(Object.entries(record).map(([id, value]) => [id, make(value, id)]));
}

function sum(record: Readonly<Record<string, number>>): number {
  return Object.values(record).reduce((total, value) => total + value, 0);
}
