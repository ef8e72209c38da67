// The water of the second plant: tanks, valves that travel, pumps that coast, a top-off of its own, air, people with cups.
// What the devices are told comes in through `drive`; what really happened is summed in `moved` and `floor`.
import { diceFrom, type Habits } from './habits.ts';
import { litresOf, type Parcel, parcelOf, Tank } from './tank.ts';

export type ValveId = 'master' | 'fill' | 'drain-guard' | 'drain' | 'loop' | 'supply';
export type PumpId = 'transfer' | 'mix';
export type WayId = 'refill' | 'transfer' | 'circulate' | 'supply' | 'drain' | 'top-off';
export type TankId = 'fresh' | 'mixing' | 'system';

export const VALVES: readonly ValveId[] = ['master', 'fill', 'drain-guard', 'drain', 'loop', 'supply'];
export const PUMPS: readonly PumpId[] = ['transfer', 'mix'];
export const WAYS: readonly WayId[] = ['refill', 'transfer', 'circulate', 'supply', 'drain', 'top-off'];

/** What has current, or is told to open, at this moment. */
export interface Drive {
  readonly opens: (valve: ValveId) => boolean;
  readonly powered: (pump: PumpId | 'heater') => boolean;
  readonly inhibitsTopOff: () => boolean;
}

/** What is broken at this moment. */
export interface Broken {
  readonly hoseOff: (way: WayId) => boolean;
  readonly seized: (valve: ValveId) => boolean;
  readonly siphons: (way: WayId) => boolean;
}

/** Full flows, L/min. */
const FULL = { refill: 10.2, transfer: 20.5, circulate: 41, supply: 8.6, drain: 9.1, 'top-off': 3 } as const;
const TRAVEL_S = 15;
const COAST_S = 2;
const SPIN_UP_S = 1.5;
/** Below this much a pump draws air, L. */
const INTAKE_L = 8;
const DRAIN_MOUTH_L = 900;
const TOP_OFF_L = [1492, 1500] as const;
const ROOM_C = 20.5;
const HEATER_KW = 1.5;
/** The element is out of the water below this, L. */
export const ELEMENT_L = 68;

/** What is in the tanks when it begins. */
export type Begin = Readonly<Record<TankId, Parcel>>;

const COLD: Begin = {
  fresh: parcelOf(210, 0, 16),
  mixing: parcelOf(30, 0, 18),
  system: parcelOf(1500, 34, 24),
};
/** A summer's day with a full fresh tank: a batch needs no heat, and is ready before noon. */
export const WARM: Begin = { ...COLD, fresh: parcelOf(322, 0, 24.4), mixing: parcelOf(30, 0, 24.4) };

export class Water {
  readonly fresh: Tank;
  readonly mixing: Tank;
  readonly system: Tank;
  readonly valves = new Map<ValveId, number>(VALVES.map((id) => [id, 0]));
  readonly speeds = new Map<PumpId, number>(PUMPS.map((id) => [id, 0]));
  /** Now, L/min. */
  readonly flowLpm = new Map<WayId, number>(WAYS.map((id) => [id, 0]));
  /** Since the start, L. */
  readonly movedL = new Map<WayId, number>(WAYS.map((id) => [id, 0]));
  readonly floorL = { spilled: 0, hose: 0 };
  /** What passed by itself through pumps that had no current, L. */
  siphonedL = 0;
  /** In the tray now; a person wipes it up. */
  trayL = 0;
  readonly wasteKg = { water: 0, salt: 0 };
  readonly inKg = { water: 0, salt: 0 };
  readonly outKg = { evaporated: 0, drawn: 0 };
  readonly floorKg = { water: 0, salt: 0 };
  drawnTodayL = 0;
  topOffRuns = false;
  seconds = 0;
  #drawL = 0;
  readonly #begun: Begin;
  readonly #habits: Habits;
  readonly #dice: () => number;

  constructor(habits: Habits, seed: number, begin: Begin = COLD) {
    this.#habits = habits;
    this.#dice = diceFrom(seed + 101);
    this.#begun = begin;
    const layered = habits.has('layers') || habits.has('corner');
    this.fresh = new Tank(400, false, { ...begin.fresh });
    this.mixing = new Tank(320, layered, { ...begin.mixing });
    this.system = new Tank(1650, false, { ...begin.system });
  }

  tank(id: TankId): Tank {
    return this[id];
  }

  /** @returns what left each way in this moment, L: for the judges and the meters */
  advance(dt: number, drive: Drive, broken: Broken): ReadonlyMap<WayId, number> {
    this.seconds += dt;
    for (const id of VALVES) this.#travel(id, drive.opens(id), broken.seized(id), dt);
    for (const id of PUMPS) this.#spin(id, drive.powered(id), dt);
    const moved = new Map<WayId, number>();
    for (const way of WAYS) {
      const lpm = this.#flow(way, drive, broken);
      const litres = this.#move(way, (lpm * dt) / 60, broken.hoseOff(way));
      if (broken.siphons(way) && !drive.powered(way === 'transfer' ? 'transfer' : 'mix'))
        this.siphonedL += litres;
      moved.set(way, litres);
      this.flowLpm.set(way, (litres / dt) * 60);
      this.movedL.set(way, (this.movedL.get(way) ?? 0) + litres);
    }
    this.#still(dt, drive);
    this.#spill();
    return moved;
  }

  #travel(id: ValveId, opens: boolean, seized: boolean, dt: number): void {
    if (seized) return;
    const travelS = this.#habits.has('travel') ? TRAVEL_S : 0.3;
    const at = this.valves.get(id) ?? 0;
    this.valves.set(id, clamp(at + (opens ? dt : -dt) / travelS));
  }

  #spin(id: PumpId, powered: boolean, dt: number): void {
    const at = this.speeds.get(id) ?? 0;
    const coastS = this.#habits.has('coast') ? COAST_S : 0.1;
    this.speeds.set(id, clamp(at + (powered ? dt / SPIN_UP_S : -dt / coastS)));
  }

  #flow(way: WayId, drive: Drive, broken: Broken): number {
    const full = FULL[way];
    const valve = (id: ValveId) => this.valves.get(id) ?? 0;
    const speed = (id: PumpId) => this.speeds.get(id) ?? 0;
    const siphon = broken.siphons(way) ? 0.15 * full : 0;
    switch (way) {
      case 'refill':
        return full * through(valve('master'), valve('fill'));
      case 'transfer':
        return Math.max(siphon, full * speed('transfer'));
      case 'circulate':
        return full * speed('mix') * through(valve('loop'), 1);
      case 'supply':
        return Math.max(siphon, full * speed('mix') * through(valve('supply'), 1));
      case 'drain': {
        const head = Math.max(0, (this.system.litres - DRAIN_MOUTH_L) / (1500 - DRAIN_MOUTH_L));
        return full * Math.sqrt(head) * through(valve('drain-guard'), valve('drain'));
      }
      case 'top-off':
        return this.#topOff(drive) ? full : 0;
    }
  }

  #topOff(drive: Drive): boolean {
    const { litres } = this.system;
    if (litres >= TOP_OFF_L[1] || drive.inhibitsTopOff() || !this.#habits.has('evaporation'))
      this.topOffRuns = false;
    else if (litres < TOP_OFF_L[0]) this.topOffRuns = true;
    return this.topOffRuns;
  }

  #move(way: WayId, wantedL: number, hoseIsOff: boolean): number {
    if (wantedL <= 0) return 0;
    const from = way === 'transfer' ? this.fresh : way === 'drain' ? this.system : this.mixing;
    if (way === 'refill' || way === 'top-off') {
      const parcel = parcelOf(wantedL, 0, 15);
      this.inKg.water += parcel.waterKg;
      this.#land(way === 'refill' ? this.fresh : this.system, parcel, hoseIsOff);
      return wantedL;
    }
    if (from.litres <= INTAKE_L) return 0;
    const parcel = from.draw(wantedL);
    const litres = litresOf(parcel);
    if (way === 'drain') {
      this.wasteKg.water += parcel.waterKg;
      this.wasteKg.salt += parcel.saltKg;
    } else this.#land(way === 'supply' ? this.system : this.mixing, parcel, hoseIsOff);
    return litres;
  }

  #land(tank: Tank, parcel: Parcel, hoseIsOff: boolean): void {
    if (hoseIsOff) this.#fall(parcel, 'hose');
    else tank.pour(parcel);
  }

  #fall(parcel: Parcel, why: keyof Water['floorL']): void {
    const litres = litresOf(parcel);
    this.floorL[why] += litres;
    this.trayL += litres;
    this.floorKg.water += parcel.waterKg;
    this.floorKg.salt += parcel.saltKg;
  }

  /** What goes on by itself: mixing, heat, the air. */
  #still(dt: number, drive: Drive): void {
    const turns = (this.flowLpm.get('circulate') ?? 0) > 5;
    this.mixing.stir(
      this.#habits.has('layers') ? (turns ? 200 : 20_000) : 5,
      this.#habits.has('corner') ? (turns ? 300 : 9_000) : 5,
      dt,
    );
    this.mixing.dissolve(turns ? 420 : 15_000, dt);
    if (drive.powered('heater')) this.mixing.heat(HEATER_KW * dt);
    this.mixing.cool(7, ROOM_C, dt);
    this.fresh.cool(9, ROOM_C, dt);
    // The room of the system is kept warm by itself.
    this.system.top.celsius += (24 - this.system.top.celsius) * (1 - Math.exp(-dt / 7200));
    if (this.#habits.has('evaporation')) {
      const kg = (11 * dt) / 86_400;
      this.system.evaporate(kg);
      this.outKg.evaporated += kg;
    }
    this.#people(dt);
  }

  /** Now and then somebody fills a can from the fresh tank; no more than the file allows. */
  #people(dt: number): void {
    const hour = (this.seconds / 3600 + 6) % 24;
    if (hour < dt / 3600) this.drawnTodayL = 0;
    if (!this.#habits.has('draws')) return;
    if (this.#drawL <= 0 && hour > 8 && hour < 20 && this.drawnTodayL < 14 && this.#dice() < dt / 14_400)
      this.#drawL = 3 + 4 * this.#dice();
    if (this.#drawL <= 0 || this.fresh.litres < 60) return;
    const part = this.fresh.draw(Math.min(this.#drawL, (6 * dt) / 60));
    this.#drawL -= (6 * dt) / 60;
    this.drawnTodayL += litresOf(part);
    this.outKg.drawn += part.waterKg;
  }

  #spill(): void {
    for (const tank of [this.fresh, this.mixing, this.system]) {
      const over = tank.spill();
      if (over !== null) this.#fall(over, 'spilled');
    }
  }

  /** What came in, less what went out, less what is there: nothing, or this plant's own arithmetic is wrong. */
  balanceKg(): { water: number; salt: number } {
    const { inKg, wasteKg, floorKg, outKg } = this;
    const tanks = [this.fresh, this.mixing, this.system];
    const begun = Object.values(this.#begun) as Parcel[];
    const sum = (numbers: readonly number[]) => numbers.reduce((total, number) => total + number, 0);
    return {
      water:
        sum(begun.map(({ waterKg }) => waterKg)) +
        inKg.water -
        wasteKg.water -
        floorKg.water -
        outKg.evaporated -
        outKg.drawn -
        sum(tanks.map(({ waterKg }) => waterKg)),
      salt:
        sum(begun.map(({ saltKg }) => saltKg)) +
        inKg.salt -
        wasteKg.salt -
        floorKg.salt -
        sum(tanks.map(({ saltKg, crystalsKg }) => saltKg + crystalsKg)),
    };
  }

  /** Dry salt, of which only a share is sea salt: the rest is water and stays water. */
  salt(productKg: number, yieldKgPerKg: number): void {
    this.mixing.crystalsKg += productKg * yieldKgPerKg;
    this.inKg.salt += productKg * yieldKgPerKg;
    this.inKg.water += productKg * (1 - yieldKgPerKg);
    this.mixing.bottom.waterKg += productKg * (1 - yieldKgPerKg);
  }

  /** With a can out of the mixing vat, and purified water out of a can into it, L. */
  bail(drawnL: number, freshL: number): void {
    const drawn = this.mixing.draw(drawnL);
    this.wasteKg.water += drawn.waterKg;
    this.wasteKg.salt += drawn.saltKg;
    const poured = parcelOf(freshL, 0, ROOM_C);
    this.inKg.water += poured.waterKg;
    this.mixing.pour(poured);
  }

  wipe(): void {
    this.trayL = 0;
  }
}

const clamp = (share: number): number => Math.min(1, Math.max(0, share));

/** Two openings one behind the other, each a share of its full bore. */
function through(one: number, other: number): number {
  if (one < 0.02 || other < 0.02) return 0;
  return 1 / Math.sqrt(1 / one ** 1.4 + 1 / other ** 1.4 - 1);
}
