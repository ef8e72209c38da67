// Judges of the second plant: they look at the true water and at the current in the pumps, never at what the service says.

import { salinityIn } from './tank.ts';
import type { PumpId, TankId, Water, WayId } from './water.ts';
import { ELEMENT_L } from './water.ts';

/** What was promised to whoever owns this plant; the same numbers stand in its station file. */
const PROMISED = {
  salinity: [33.2, 34.8],
  celsius: [20, 27],
  perDayL: 90,
  reserveL: 225,
  /** Drained and delivered may differ by the bound of the ledger, a step, and what two meters err in a day. */
  apartInADayL: 17,
} as const;
const DAY_S = 86_400;
/** A relay chatters, a valve is still travelling: so long may a pump push against a shut valve, s. */
const PUSHES_S = 25;
/** For so long may a pump draw air: what its protection needs to notice, s. */
const DRAWS_AIR_S = 3;

export interface Verdict {
  readonly harm: readonly string[];
  readonly spilledL: number;
  readonly hoseL: number;
  readonly dryS: Readonly<Record<PumpId, number>>;
  readonly pushedS: number;
  readonly bareS: number;
  readonly heatedOnCrystalsS: number;
  readonly offSpecL: number;
  readonly siphonedL: number;
  readonly mostApartL: number;
  readonly belowReserveH: number;
  readonly system: {
    readonly leastL: number;
    readonly mostL: number;
    readonly salinity: readonly [number, number];
  };
  readonly peakL: Readonly<Record<TankId, number>>;
  readonly deliveredByDayL: readonly number[];
  readonly balanceKg: { readonly water: number; readonly salt: number };
}

export interface Seen {
  readonly powered: (pump: PumpId | 'heater') => boolean;
  readonly hoseFault: boolean;
}

export class Judges {
  readonly #dryS: Record<PumpId, number> = { transfer: 0, mix: 0 };
  readonly #peakL: Record<TankId, number> = { fresh: 0, mixing: 0, system: 0 };
  readonly #byDayL: number[] = [];
  /** Delivered less drained, at every hour. */
  readonly #apart: number[] = [0];
  #pushingS = 0;
  #pushedS = 0;
  #bareS = 0;
  #crystalsS = 0;
  #offSpecL = 0;
  #belowS = 0;
  #leastL = Infinity;
  #mostL = 0;
  #salinity: [number, number] = [Infinity, 0];
  #deliveredL = 0;
  #drainedL = 0;
  #hourS = 0;
  #hadHoseFault = false;

  look(dt: number, water: Water, moved: ReadonlyMap<WayId, number>, seen: Seen): void {
    const litres = (way: WayId) => moved.get(way) ?? 0;
    this.#pumps(dt, water, seen, litres);
    this.#heater(dt, water, seen);
    this.#delivered(water, litres('supply'));
    this.#drainedL += litres('drain');
    this.#hadHoseFault ||= seen.hoseFault;
    this.#hourS += dt;
    if (this.#hourS < 600) return;
    // Ten minutes are often enough for what changes slowly.
    this.#slowly(this.#hourS, water);
    this.#hourS = 0;
  }

  verdict(water: Water): Verdict {
    const verdict = {
      spilledL: round(water.floorL.spilled),
      hoseL: round(water.floorL.hose),
      dryS: { transfer: round(this.#dryS.transfer), mix: round(this.#dryS.mix) },
      pushedS: round(this.#pushedS),
      bareS: round(this.#bareS),
      heatedOnCrystalsS: round(this.#crystalsS),
      offSpecL: round(this.#offSpecL),
      siphonedL: round(water.siphonedL),
      mostApartL: round(this.#mostApart()),
      belowReserveH: round(this.#belowS / 3600),
      system: {
        leastL: round(this.#leastL),
        mostL: round(this.#mostL),
        salinity: [round(this.#salinity[0]), round(this.#salinity[1])] as const,
      },
      peakL: {
        fresh: round(this.#peakL.fresh),
        mixing: round(this.#peakL.mixing),
        system: round(this.#peakL.system),
      },
      deliveredByDayL: Array.from(this.#byDayL, (litres) => round(litres ?? 0)),
      balanceKg: { water: round(water.balanceKg().water), salt: round(water.balanceKg().salt) },
    };
    return { harm: harmIn(verdict, this.#hadHoseFault), ...verdict };
  }

  #pumps(dt: number, water: Water, { powered }: Seen, litres: (way: WayId) => number): void {
    for (const pump of ['transfer', 'mix'] as const) {
      const moves = pump === 'transfer' ? litres('transfer') : litres('circulate') + litres('supply');
      const tank = pump === 'transfer' ? water.fresh : water.mixing;
      const turns = powered(pump) && (water.speeds.get(pump) ?? 0) > 0.3;
      if (turns && moves === 0 && tank.litres < 9) this.#dryS[pump] += dt;
      if (pump === 'transfer') continue;
      this.#pushingS = turns && moves === 0 ? this.#pushingS + dt : 0;
      this.#pushedS = Math.max(this.#pushedS, this.#pushingS);
    }
  }

  #heater(dt: number, water: Water, { powered }: Seen): void {
    if (!powered('heater')) return;
    if (water.mixing.litres < ELEMENT_L) this.#bareS += dt;
    if (water.mixing.crystalsKg > 0.3) this.#crystalsS += dt;
  }

  #delivered(water: Water, litres: number): void {
    if (litres <= 0) return;
    this.#deliveredL += litres;
    const day = Math.floor(water.seconds / DAY_S);
    this.#byDayL[day] = (this.#byDayL[day] ?? 0) + litres;
    const { bottom } = water.mixing;
    const salinity = salinityIn(bottom);
    const isRight =
      salinity >= PROMISED.salinity[0] &&
      salinity <= PROMISED.salinity[1] &&
      bottom.celsius >= PROMISED.celsius[0] &&
      bottom.celsius <= PROMISED.celsius[1];
    if (!isRight) this.#offSpecL += litres;
  }

  #slowly(seconds: number, water: Water): void {
    this.#apart.push(this.#deliveredL - this.#drainedL);
    if (water.fresh.litres + water.mixing.litres < PROMISED.reserveL) this.#belowS += seconds;
    this.#leastL = Math.min(this.#leastL, water.system.litres);
    this.#mostL = Math.max(this.#mostL, water.system.litres);
    const salinity = salinityIn(water.system.whole);
    this.#salinity = [Math.min(this.#salinity[0], salinity), Math.max(this.#salinity[1], salinity)];
    for (const id of ['fresh', 'mixing', 'system'] as const)
      this.#peakL[id] = Math.max(this.#peakL[id], water.tank(id).litres);
  }

  /** The most that drained and delivered moved apart within any day. */
  #mostApart(): number {
    let most = 0;
    for (const [at, here] of this.#apart.entries())
      for (const before of this.#apart.slice(Math.max(0, at - 144), at))
        most = Math.max(most, Math.abs(here - before));
    return most;
  }
}

function harmIn(verdict: Omit<Verdict, 'harm'>, hadHoseFault: boolean): readonly string[] {
  const {
    spilledL,
    hoseL,
    dryS,
    pushedS,
    bareS,
    heatedOnCrystalsS,
    offSpecL,
    siphonedL,
    mostApartL,
    system,
    balanceKg,
  } = verdict;
  // biome-ignore format: a table reads as a table
  const found: readonly (readonly [boolean, string])[] = [
    [spilledL > 0, `${spilledL} L went over a brim`],
    [hoseL > (hadHoseFault ? 25 : 0), `${hoseL} L ran out of a hose`],
    [dryS.transfer > DRAWS_AIR_S || dryS.mix > DRAWS_AIR_S, `pumps drew air for ${dryS.transfer} s and ${dryS.mix} s`],
    [pushedS > PUSHES_S, `a pump pushed against a shut valve for ${pushedS} s`],
    [bareS > 0, `the heater was on and bare for ${bareS} s`],
    [heatedOnCrystalsS > 0, `the heater was on for ${heatedOnCrystalsS} s while salt lay there`],
    [offSpecL > 0, `${offSpecL} L of wrong water were delivered`],
    // Nothing on this plant can stop a siphon.
    [mostApartL > PROMISED.apartInADayL + siphonedL, `drained and delivered moved ${mostApartL} L apart within a day`],
    [system.leastL < 1440 || system.mostL > 1575, `the system held ${system.leastL} to ${system.mostL} L`],
    [system.salinity[0] < 33 || system.salinity[1] > 35, `the system was between ${system.salinity.join(' and ')}`],
    [Math.abs(balanceKg.water) > 0.05 || Math.abs(balanceKg.salt) > 0.01, "this plant's own arithmetic does not balance"],
  ];
  return found.flatMap(([holds, words]) => (holds ? [words] : []));
}

/** Promises that are no harm when broken, but somebody must have been told. */
export function brokenPromises({ deliveredByDayL, belowReserveH }: Verdict, days: number): readonly string[] {
  const broken: string[] = [];
  // The first day begins with empty tanks.
  for (let day = 1; day < Math.floor(days); day++) {
    const litres = deliveredByDayL[day] ?? 0;
    if (litres < 0.75 * PROMISED.perDayL)
      broken.push(`day ${day + 1}: ${litres} L of ${PROMISED.perDayL} L were delivered`);
  }
  return belowReserveH > 24 ? [...broken, `${belowReserveH} h below the reserve`] : broken;
}

const round = (number: number): number => Number(number.toFixed(2));
