// A tank as kilograms: water and salt in zones that mix slowly, crystals on its floor. Litres follow from the density, so
// nothing here can make or lose salt. Zones: what comes in falls on the top, pumps draw from the bottom, the probe sits in
// the corner. A tank of one zone is stirred.
import { densityOf, salinityByMass, saltIn } from './sea.ts';

export interface Parcel {
  waterKg: number;
  saltKg: number;
  celsius: number;
}

/** What a kilogram of undissolved salt displaces, L. */
const CRYSTAL_L_PER_KG = 0.46;
/** Shares of the contents: top, bottom, corner. */
const SHARES = [0.44, 0.53, 0.03] as const;
const HEAT_KJ_PER_KG_K = 4.0;

export const kgOf = ({ waterKg, saltKg }: Parcel): number => waterKg + saltKg;
export const salinityIn = ({ saltKg, waterKg }: Parcel): number => salinityByMass(saltKg, waterKg);
export const litresOf = (parcel: Parcel): number =>
  kgOf(parcel) / densityOf(salinityIn(parcel), parcel.celsius);

export function parcelOf(litres: number, salinity: number, celsius: number): Parcel {
  const kg = litres * densityOf(salinity, celsius);
  const saltKg = saltIn(kg, salinity);
  return { waterKg: kg - saltKg, saltKg, celsius };
}

function join(into: Parcel, what: Parcel): void {
  const kg = kgOf(into) + kgOf(what);
  if (kg > 0) into.celsius = (into.celsius * kgOf(into) + what.celsius * kgOf(what)) / kg;
  into.waterKg += what.waterKg;
  into.saltKg += what.saltKg;
}

function split(from: Parcel, kg: number): Parcel {
  const share = kgOf(from) > 0 ? Math.min(1, Math.max(0, kg) / kgOf(from)) : 0;
  const part = { waterKg: from.waterKg * share, saltKg: from.saltKg * share, celsius: from.celsius };
  from.waterKg -= part.waterKg;
  from.saltKg -= part.saltKg;
  return part;
}

export class Tank {
  readonly brimL: number;
  readonly zones: readonly Parcel[];
  crystalsKg = 0;

  constructor(brimL: number, isLayered: boolean, contents: Parcel) {
    this.brimL = brimL;
    this.zones = (isLayered ? SHARES : [1]).map((share) => ({
      waterKg: contents.waterKg * share,
      saltKg: contents.saltKg * share,
      celsius: contents.celsius,
    }));
  }

  get litres(): number {
    return this.zones.reduce((sum, zone) => sum + litresOf(zone), this.crystalsKg * CRYSTAL_L_PER_KG);
  }

  get saltKg(): number {
    return this.zones.reduce((sum, { saltKg }) => sum + saltKg, 0);
  }

  get waterKg(): number {
    return this.zones.reduce((sum, { waterKg }) => sum + waterKg, 0);
  }

  /** As if it were stirred now. */
  get whole(): Parcel {
    const sum: Parcel = { waterKg: 0, saltKg: 0, celsius: this.top.celsius };
    for (const zone of this.zones) join(sum, zone);
    return sum;
  }

  get top(): Parcel {
    return this.zones[0] as Parcel;
  }
  get bottom(): Parcel {
    return (this.zones[1] ?? this.zones[0]) as Parcel;
  }
  get corner(): Parcel {
    return (this.zones[2] ?? this.zones[0]) as Parcel;
  }

  pour(parcel: Parcel): void {
    join(this.top, parcel);
    this.#level();
  }

  /** From the bottom, as far as there is something. */
  draw(litres: number): Parcel {
    const { bottom } = this;
    const part = split(bottom, litres * densityOf(salinityIn(bottom), bottom.celsius));
    this.#level();
    return part;
  }

  /** What stands above the brim leaves over it. */
  spill(): Parcel | null {
    const overL = this.litres - this.brimL;
    if (overL <= 0) return null;
    const part = split(this.top, overL * densityOf(salinityIn(this.top), this.top.celsius));
    this.#level();
    return part;
  }

  evaporate(kg: number): void {
    this.top.waterKg = Math.max(0, this.top.waterKg - kg);
    this.#level();
  }

  heat(kJ: number): void {
    this.bottom.celsius += kJ / (HEAT_KJ_PER_KG_K * Math.max(1, kgOf(this.bottom)));
  }

  cool(wattsPerK: number, roomC: number, seconds: number): void {
    const kg = Math.max(1, this.waterKg);
    const share = 1 - Math.exp((-wattsPerK * seconds) / 1000 / (HEAT_KJ_PER_KG_K * kg));
    for (const zone of this.zones) zone.celsius += (roomC - zone.celsius) * share;
  }

  /** Neighbours exchange water with these time constants; Infinity: not at all. */
  stir(layersS: number, cornerS: number, seconds: number): void {
    if (this.zones.length === 1) return;
    swap(this.top, this.bottom, 1 - Math.exp(-seconds / layersS));
    swap(this.bottom, this.corner, 1 - Math.exp(-seconds / cornerS));
  }

  dissolve(timeS: number, seconds: number): void {
    const kg = this.crystalsKg * (1 - Math.exp(-seconds / timeS));
    this.crystalsKg -= kg;
    this.bottom.saltKg += kg;
  }

  /** Zones keep their shares of the mass: water moves between neighbours, as a free surface moves it. */
  #level(): void {
    if (this.zones.length === 1) return;
    const kg = this.zones.reduce((sum, zone) => sum + kgOf(zone), 0);
    shift(this.bottom, this.corner, SHARES[2] * kg - kgOf(this.corner));
    shift(this.top, this.bottom, SHARES[1] * kg - kgOf(this.bottom));
  }
}

function shift(from: Parcel, into: Parcel, kg: number): void {
  if (kg >= 0) join(into, split(from, kg));
  else join(from, split(into, -kg));
}

function swap(one: Parcel, other: Parcel, share: number): void {
  const kg = Math.min(kgOf(one), kgOf(other)) * share;
  const there = split(one, kg);
  const back = split(other, kg);
  join(one, back);
  join(other, there);
}
