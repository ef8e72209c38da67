// Generated from schemas/site.schema.json by `npm run generate`: change the schema, not this file.

/**
 * Lower-case letters, digits and hyphens.
 */
export type Id = string;
/**
 * For example "240 L" or "63 gal".
 */
export type Volume = string;
/**
 * Practical salinity, for example "35 PSU".
 */
export type Salinity = string;
/**
 * For example "25 degC" or "77 degF".
 */
export type Temperature = string;
export type Name = string;
/**
 * For example "600 mm" or "2.3 m".
 */
export type Length = string;
/**
 * For example "12 L/min" or "100 gal/d".
 */
export type Flow = string;
export type Count = number;
/**
 * For example "600 W".
 */
export type Power = string;
/**
 * Inside measures.
 */
export type Shape =
  | {
      kind: 'upright-cylinder';
      diameter: Length;
      height: Length;
    }
  | {
      kind: 'lying-cylinder';
      diameter: Length;
      length: Length;
    }
  | {
      kind: 'box';
      length: Length;
      width: Length;
      height: Length;
    };
/**
 * For example "10 mg/L".
 */
export type Concentration = string;
/**
 * For example "45 min" or "14 d".
 */
export type Duration = string;
/**
 * A number, in the currency of the tariffs.
 */
export type Price = number;

/**
 * A place where a saltwater mixing station shall stand, before anything is bought: the system, the room, the inlet water over a year, and what the installer has in mind. Quantities carry their unit.
 */
export interface SiteFile {
  /**
   * Where an editor finds this schema.
   */
  $schema?: string;
  /**
   * Version of this file format.
   */
  format: 1;
  id: Id;
  /**
   * Name of the place.
   */
  name: string;
  prepared?: Prepared;
  system: System;
  room: Room;
  inlet: Inlet;
  purifier: Purifier;
  salt: Salt;
  mixing?: Mixing;
  transfer: Line;
  supply: SupplyLine;
  drain?: Drain;
  heater?: Heater;
  schedule: Schedule;
  vats: Vats;
  /**
   * What the exchange is for: substances that the system makes.
   *
   * @maxItems 24
   */
  solutes?: Solute[];
  owner?: Owner;
  tariffs?: Tariffs;
}
/**
 * What stands on the first page of the report.
 */
export interface Prepared {
  /**
   * The client.
   */
  for?: string;
  /**
   * The installer.
   */
  by?: string;
  /**
   * The date, for example "2026-03-02". The report never asks the clock.
   */
  on?: string;
}
/**
 * The living system. Everything that shares its water is one system; two that do not are two sites.
 */
export interface System {
  /**
   * Default "System".
   */
  name?: string;
  /**
   * The volumes that make it up, by name: display, sump, holding tank.
   */
  parts: {
    [k: string]: Volume;
  };
  /**
   * For example "240 L" or "63 gal".
   */
  spare?: string;
  salinity: Salinity;
  temperature: Temperature;
  /**
   * By how much one exchange may move its temperature. Default 0.3 K.
   */
  mayMove?: string;
  /**
   * Fresh water drawn beside the batches, for top-off and by hand, for example "20 L/d". Default none.
   */
  freshUse?: string;
  /**
   * The pump that turns the system's own water over, if it is known.
   */
  returnPump?: {
    model: Name;
  };
}
export interface Room {
  /**
   * Of the free floor on which the vats may stand.
   */
  length: string;
  /**
   * Of the same.
   */
  width: string;
  /**
   * Clear height over that floor.
   */
  height: string;
  /**
   * For example "25 degC" or "77 degF".
   */
  temperature?: string;
  /**
   * Every door and passage on the way in, clear opening.
   *
   * @minItems 1
   * @maxItems 24
   */
  doors: [Door, ...Door[]];
  floor: Floor;
  /**
   * Whether the room has a drain in its floor. Default false.
   */
  floorDrain?: boolean;
}
export interface Door {
  name?: Name;
  width: Length;
  height: Length;
}
export interface Floor {
  /**
   * 0: on the ground. 1 and more: there are rooms below.
   */
  storey: number;
  /**
   * What the building's papers or its engineer state for this floor, for example "5 kN/m2". Leave it out when nobody knows.
   */
  allowedLoad?: string;
}
/**
 * The water that reaches the purifier.
 */
export interface Inlet {
  /**
   * Twelve monthly means, January first.
   *
   * @minItems 12
   * @maxItems 12
   */
  temperatures: [
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature,
    Temperature
  ];
  /**
   * At the purifier while it runs.
   */
  pressure: string;
  /**
   * Dissolved salts, for its osmotic pressure. Default 300 mg/L.
   */
  dissolved?: string;
}
export interface Purifier {
  /**
   * Rated purified output at 25 degC and the rated pressure.
   */
  output: string;
  /**
   * Of the rating.
   */
  pressure: string;
  /**
   * Dissolved salts of the rating's water. Default that of the inlet.
   */
  dissolved?: string;
  /**
   * Purified over inlet water; the rest goes to the drain.
   */
  recovery: string;
  /**
   * K of the temperature correction, for example "3020 K". Default 3020 K up to 25 degC, 2640 K above.
   */
  membraneConstant?: string;
  /**
   * Share of its output that the membrane loses in a year. Default 7 % (common practice, no source).
   */
  lossPerYear?: string;
  /**
   * After which it is replaced. Default 730 d (common practice, no source).
   */
  membraneLife?: string;
}
export interface Salt {
  /**
   * Default "sea salt".
   */
  name?: string;
  /**
   * Dissolved sea salts per dry product, by mass.
   */
  yield: string;
  /**
   * What one bag or bucket holds.
   */
  bag: string;
  /**
   * Of one bag, a number in the currency of the tariffs.
   */
  price?: number;
}
export interface Mixing {
  /**
   * Circulation after the salt. Default 60 min (common practice, no source).
   */
  dissolve?: string;
  /**
   * Circulation before a measurement counts. Default 10 min.
   */
  settle?: string;
  /**
   * What the circulation pump moves. Default ten times the mixing vat in an hour (common practice, no source).
   */
  circulation?: string;
  /**
   * What that pump takes from the mains. Default 40 W.
   */
  circulationPower?: string;
}
/**
 * From the fresh vat to the mixing vat. Without an `outlet` its pipe ends over the rim of the mixing vat.
 */
export interface Line {
  pump: Pump;
  /**
   * @minItems 1
   * @maxItems 24
   */
  pipes: [Pipe, ...Pipe[]];
  /**
   * Where the water leaves the pipe, above the floor of the vat room; or the level under which it ends, if that is higher.
   */
  outlet?: string;
}
export interface Pump {
  model?: Name;
  /**
   * Pairs of flow and head, from no flow on, as the maker prints them; or one duty point alone.
   *
   * @minItems 1
   * @maxItems 60
   */
  curve: [[Flow, Length], ...[Flow, Length][]];
  /**
   * What it takes from the mains, for the costs.
   */
  power?: string;
}
export interface Pipe {
  length: Length;
  /**
   * For example "600 mm" or "2.3 m".
   */
  diameter: string;
  /**
   * For its roughness. Default "smooth plastic".
   */
  material?: 'smooth plastic' | 'steel';
  /**
   * For example "600 mm" or "2.3 m".
   */
  roughness?: string;
  fittings?: Fittings;
}
/**
 * How many of each, of the pipe's own size.
 */
export interface Fittings {
  'gate valve'?: Count;
  'ball valve, full bore'?: Count;
  'elbow 90'?: Count;
  'elbow 45'?: Count;
  'tee, through run'?: Count;
  'tee, through branch'?: Count;
  'swing check'?: Count;
  'globe valve'?: Count;
  'lift check, globe'?: Count;
  'entrance, flush'?: Count;
  'entrance, inward projecting'?: Count;
  exit?: Count;
}
/**
 * From the mixing vat to the system.
 */
export interface SupplyLine {
  pump: Pump;
  /**
   * @minItems 1
   * @maxItems 24
   */
  pipes: [Pipe, ...Pipe[]];
  /**
   * Where the water leaves the pipe, above the floor of the vat room; or the level under which it ends, if that is higher.
   */
  outlet: string;
}
/**
 * The way from the system to waste.
 */
export interface Drain {
  /**
   * For example "12 L/min" or "100 gal/d".
   */
  flow: string;
}
/**
 * In the mixing vat.
 */
export interface Heater {
  power: Power;
  /**
   * Heat that the vat loses per kelvin above the room, for example "6 W/K". Default 6 W/K (a vat of some 300 L with a lid; no source).
   */
  losses?: string;
  /**
   * How soon a batch shall be warm. Default 12 h.
   */
  within?: string;
}
export interface Schedule {
  exchange: {
    /**
     * Of the system's volume, in each change.
     */
    share: string;
    /**
     * For example "1 d" (then spread over the day) or "7 d".
     */
    every: string;
  };
  /**
   * One large change that must be possible on a bad day. Default the reserve.
   */
  largeChange?: string;
  /**
   * Water on hand, fresh and mixed, as a share of the system. Default 20 % (common practice, no source).
   */
  reserve?: string;
}
export interface Vats {
  /**
   * A list of vats to choose from, or "propose" for upright cylinders that pass the doors and hold the reserve.
   *
   * @minItems 1
   * @maxItems 30
   */
  candidates: [Vat, ...Vat[]] | string;
  /**
   * Which candidate becomes the fresh vat. Default: the plan chooses.
   */
  fresh?: string;
  /**
   * Which candidate becomes the mixing vat.
   */
  mixing?: string;
  /**
   * For example "600 mm" or "2.3 m".
   */
  stand?: string;
  /**
   * For example "600 mm" or "2.3 m".
   */
  headroom?: string;
  /**
   * For example "600 mm" or "2.3 m".
   */
  clearance?: string;
  /**
   * For example "600 mm" or "2.3 m".
   */
  gap?: string;
}
export interface Vat {
  name: Name;
  shape: Shape;
  /**
   * For example "240 L" or "63 gal".
   */
  capacity?: string;
  /**
   * For example "600 mm" or "2.3 m".
   */
  wall?: string;
  /**
   * Empty, with lid. Default 5 kg and 5 kg for each 100 L.
   */
  mass?: string;
  /**
   * Of one, a number in the currency of the tariffs.
   */
  price?: number;
}
export interface Solute {
  name: Name;
  present: Concentration;
  /**
   * For example "10 mg/L".
   */
  target: string;
  /**
   * What the system adds to its own water, for example "0.4 mg/(L d)". Measure it: the rise over some days without a change.
   */
  production: string;
  /**
   * For example "10 mg/L".
   */
  incoming?: string;
}
export interface Owner {
  /**
   * The longest time for which nobody comes. Default 7 d.
   */
  absence?: string;
  /**
   * For the simulated year. Default 4 h, at most 2 d.
   */
  saltDelay?: {
    /**
     * Mean time from the request for salt until it is in the vat.
     */
    usual: string;
    longest: Duration;
  };
}
export interface Tariffs {
  /**
   * Three letters, ISO 4217.
   */
  currency: string;
  /**
   * Drinking water and what is charged for its way to the sewer.
   */
  water?: {
    price: Price;
    per: Volume;
  };
  electricity?: {
    price: Price;
    /**
     * For example "1 kWh".
     */
    per: string;
  };
}
