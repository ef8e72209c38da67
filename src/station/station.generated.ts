// Generated from schemas/station.schema.json by `npm run generate`: change the schema, not this file.

/**
 * Lower-case letters and digits, hyphens between them.
 */
export type Id = string;
/**
 * Inside dimensions.
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
 * For example "600 mm".
 */
export type Length = string;
/**
 * For example "12 L/min" or "100 gal/d".
 */
export type Flow = string;
/**
 * For example "240 L" or "63 gal".
 */
export type Volume = string;
/**
 * The id of one of the `actuators`.
 */
export type ActuatorId = string;
/**
 * The id of one of the `routes`.
 */
export type RouteId = string;
/**
 * For example "600 W".
 */
export type Power = string;
export type Sensor =
  | FloatSensor
  | LeakSensor
  | TopOffSensor
  | LevelSensor
  | FlowSensor
  | TotalSensor
  | TemperatureSensor
  | ConductivitySensor;
/**
 * The id of one of the `vessels`.
 */
export type VesselId = string;
/**
 * What the payload says. Text, number and true/false are compared by what they print as.
 */
export type Word = string | number | boolean;
/**
 * A full MQTT topic, without wildcards.
 */
export type Topic = string;
/**
 * Where the value is in the payload: left out for the plain payload, else a JSON Pointer (RFC 6901), for example "/state/wet".
 */
export type Where = string;
/**
 * Where the payload holds a whole number with several contacts in it: which of its bits, 0 being the lowest. The words are then 1 and 0.
 */
export type Bit = number;
/**
 * Older than this, a reading says nothing any more. Default three times `republishes`; without that, 1 d where the device has an availability topic, else 60 s.
 */
export type MaxAge = string;
/**
 * The device publishes at least this often even when nothing changes. Absent: only on change.
 */
export type Republishes = string;
/**
 * Optional ISA-5.1 tag, for example "LSH-2" or "P-101".
 */
export type Tag = string;
/**
 * What it shares with others: a relay board, a power supply. `check` warns where two layers of protection share one.
 */
export type FailureDomain = string;
/**
 * The reading is scale x payload + offset. Default 1.
 */
export type Scale = number;
/**
 * Added after `scale`, in `unit`. Default 0.
 */
export type Offset = number;
/**
 * Lowest and highest believable value, in the payload's unit after scale and offset.
 *
 * @minItems 2
 * @maxItems 2
 */
export type Range = [number, number];
/**
 * Values that a failing sensor sends instead of a reading, before scale and offset; for example 85 and -127.
 */
export type Sentinels = number[];
/**
 * For example "20 s", "45 min", "14 d".
 */
export type Duration = string;
/**
 * Text, or JSON. The placeholders $leaseMs, $leaseS, $sequence, $boot and $issuedMs stand for numbers (boot: text).
 */
export type Payload =
  | string
  | number
  | boolean
  | {
      [k: string]: unknown;
    };
/**
 * Practical salinity, for example "35 PSU".
 */
export type Salinity = string;
/**
 * Local time, for example "22:30".
 */
export type TimeOfDay = string;
/**
 * `itself`: without anybody, on fresh evidence. `person`: waits for a request.
 */
export type Starter = 'itself' | 'person';

/**
 * A saltwater mixing station as its owner describes it: vessels, the routes by which water moves between them, and the topics of every sensor and actuator. Quantities carry their unit.
 */
export interface StationFile {
  /**
   * Where an editor finds this schema.
   */
  $schema?: string;
  /**
   * Version of this file format.
   */
  format: 1;
  id: Id;
  name: string;
  /**
   * Everything that holds water, by id. The purified-water inlet and the waste count as vessels without limit.
   */
  vessels: {
    [k: string]: Vessel;
  };
  /**
   * Every way by which water gets from one vessel to another, or round inside one.
   */
  routes: {
    [k: string]: Route;
  };
  heaters?: {
    [k: string]: Heater;
  };
  /**
   * Devices that add dry salt by themselves; without one, a person is asked.
   */
  dosers?: {
    [k: string]: Doser;
  };
  sensors: {
    [k: string]: Sensor;
  };
  actuators: {
    [k: string]: Actuator;
  };
  /**
   * Valves and taps that only a person turns, so that somebody is asked to before they seize.
   */
  handValves?: {
    [k: string]: HandValve;
  };
  /**
   * The id of one of the `actuators`.
   */
  alive?: string;
  process: Process;
  policy?: Policy;
  link?: Link;
  announce?: Announce;
}
export interface Vessel {
  /**
   * `purified-water`: the line from the purifier. `fresh`: the vat of purified water. `mixing`: where salt is added. `system`: what the water is for. `waste`: where it may run away.
   */
  role: 'purified-water' | 'fresh' | 'mixing' | 'system' | 'waste';
  name?: string;
  /**
   * To the brim. Needed for fresh, mixing and system; the purified-water inlet and the waste have none.
   */
  capacity?: string;
  /**
   * Kept free below the brim. Default 3 % of the capacity.
   */
  margin?: string;
  /**
   * The least contents with which a pump may still draw from it. Default 5 % of the capacity.
   */
  minimum?: string;
  /**
   * A system's normal contents, needed for a system: the reserve and the exchange are shares of it.
   */
  volume?: string;
  shape?: Shape;
  /**
   * Water that people may draw by hand: normal life up to this rate and daily amount, a leak beyond.
   */
  handDrawn?: {
    flow: Flow;
    perDay: Volume;
  };
  /**
   * On the purified-water inlet: water above this conductivity must not reach the fresh vat.
   */
  purityLimit?: string;
  /**
   * Which tap a person closes, or which plug is pulled, when nothing else can stop water into or out of this vessel.
   */
  tap?: string;
  initial?: Initial;
}
/**
 * What the simulated station starts with. The running service never reads this.
 */
export interface Initial {
  /**
   * For example "240 L" or "63 gal".
   */
  contents?: string;
  /**
   * Default 0 PSU; a system: the target.
   */
  salinity?: string;
  /**
   * Default 18 degC; a system: the target, where the station has one.
   */
  temperature?: string;
}
export interface Route {
  name?: string;
  /**
   * The vessel that the water leaves.
   */
  from: string;
  /**
   * The vessel that it enters. The same as `from` for circulation.
   */
  to: string;
  /**
   * The actuators that must be on, in the order of the flow.
   *
   * @minItems 1
   */
  through: [ActuatorId, ...ActuatorId[]];
  /**
   * The actuators that must be off, for example a diverter that would send the water elsewhere.
   */
  shut?: ActuatorId[];
  /**
   * Routes that must not run at the same time. Routes that share an actuator exclude each other anyway.
   */
  notWith?: RouteId[];
  /**
   * The least and the most flow that this route has when it runs as it should.
   */
  flow: {
    least: Flow;
    most: Flow;
    /**
     * For example "12 L/min" or "100 gal/d".
     */
    usual?: string;
  };
  /**
   * Time from `on` until full flow. Default 5 s.
   */
  priming?: string;
  /**
   * Time from a proven `off` until nothing moves any more. Default 3 s.
   */
  runDown?: string;
  /**
   * Once started, wanted for at least this long; protection may cut it short. Default 0 s.
   */
  minimumRun?: string;
  /**
   * Time between a stop and the next start. Default 5 s.
   */
  minimumRest?: string;
  /**
   * How many starts an hour its pump and valves stand. Default 30 (from memory: small pump motors are often rated so).
   */
  startsPerHour?: number;
}
export interface Heater {
  name?: string;
  /**
   * The vessel that it heats: the mixing vat.
   */
  in: string;
  /**
   * The id of one of the `actuators`.
   */
  switch: string;
  power: Power;
  /**
   * For example "240 L" or "63 gal".
   */
  covered: string;
  /**
   * Trip above this. A separate hard-wired cut-out is needed all the same.
   */
  limit: string;
  /**
   * Where the thermal cut-out in its supply opens: hard-wired, independent of every thermometer of this file, and reset by hand. A little above the limit. Leave it out where none is fitted: `check` then says what one lying thermometer can do.
   */
  cutOut?: string;
  /**
   * Time after which heating must show, and after which switching off must show. Default 10 min.
   */
  lag?: string;
  /**
   * Heat lost per kelvin above the room, for example "8 W/K". Default 0 W/K.
   */
  losses?: string;
}
export interface Doser {
  /**
   * The vessel that it adds salt to: the mixing vat.
   */
  in: string;
  /**
   * The id of one of the `actuators`.
   */
  switch: string;
  /**
   * Dry salt while it runs, for example "0.5 kg/min".
   */
  rate: string;
  /**
   * The most that one dose may add without a person.
   */
  largest: string;
}
export interface FloatSensor {
  measures: 'float';
  vessel: VesselId;
  /**
   * `overflow` is the independent one above `high`.
   */
  position: 'low' | 'high' | 'overflow';
  /**
   * For example "240 L" or "63 gal".
   */
  mark: string;
  /**
   * For example "240 L" or "63 gal".
   */
  tolerance?: string;
  wet: Word;
  dry: Word;
  /**
   * True where the contact opens when wet, so that a broken wire reads wet. Informs `check`; `wet` and `dry` already say what the payload means.
   */
  normallyClosed?: boolean;
  topic: Topic;
  at?: Where;
  bit?: Bit;
  maxAge?: MaxAge;
  republishes?: Republishes;
  believe?: Believe;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
/**
 * How long a reading must stand before it counts.
 */
export interface Believe {
  /**
   * For a reading that would permit running. Default 3 s.
   */
  start?: string;
  /**
   * For a reading that would end it. Default 0 s: at once. Anything longer is time in which water runs on.
   */
  stop?: string;
}
export interface Availability {
  topic: Topic;
  at?: Where;
  online: Word;
  offline: Word;
}
export interface LeakSensor {
  measures: 'leak';
  /**
   * Which tray or floor it lies in.
   */
  tray: string;
  wet: Word;
  dry: Word;
  topic: Topic;
  at?: Where;
  bit?: Bit;
  maxAge?: MaxAge;
  republishes?: Republishes;
  believe?: Believe;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface TopOffSensor {
  measures: 'top-off';
  /**
   * The id of one of the `vessels`.
   */
  vessel: string;
  running: Word;
  resting: Word;
  topic: Topic;
  at?: Where;
  bit?: Bit;
  maxAge?: MaxAge;
  republishes?: Republishes;
  believe?: Believe;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface LevelSensor {
  measures: 'level';
  vessel: VesselId;
  /**
   * Unit of the payload after scale and offset. A length needs the vessel's shape or a `table`; % is of the capacity.
   */
  unit: 'L' | 'gal' | 'mm' | 'cm' | 'm' | 'in' | '%';
  /**
   * Calibration: pairs of level and contents, both rising, joined by straight lines; for example ["120 mm", "3.6 L"].
   *
   * @minItems 2
   */
  table?: [[Length, Volume], [Length, Volume], ...[Length, Volume][]];
  /**
   * For example "240 L" or "63 gal".
   */
  uncertainty: string;
  scale?: Scale;
  offset?: Offset;
  range?: Range;
  sentinels?: Sentinels;
  topic: Topic;
  at?: Where;
  maxAge?: MaxAge;
  republishes?: Republishes;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface FlowSensor {
  measures: 'flow';
  route: RouteId;
  /**
   * Unit of the payload after scale and offset.
   */
  unit: 'L/min' | 'L/h' | 'L/s' | 'L/d' | 'gal/min' | 'gal/d' | 'm3/h';
  /**
   * Of the reading. Default 5 %.
   */
  uncertainty?: string;
  /**
   * For example "12 L/min" or "100 gal/d".
   */
  zero?: string;
  scale?: Scale;
  offset?: Offset;
  range?: Range;
  sentinels?: Sentinels;
  topic: Topic;
  at?: Where;
  maxAge?: MaxAge;
  republishes?: Republishes;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface TotalSensor {
  measures: 'total';
  route: RouteId;
  /**
   * Unit of the count, which only ever rises.
   */
  unit: 'L' | 'mL' | 'm3' | 'gal' | 'pulses';
  /**
   * Needed where the unit is pulses.
   */
  pulsesPerLitre?: number;
  /**
   * The count at which it starts again from 0, in `unit`: 65536 for sixteen bits. Absent: never.
   */
  wrapsAt?: number;
  /**
   * Of the amount. Default 5 %.
   */
  uncertainty?: string;
  /**
   * For example "240 L" or "63 gal".
   */
  lostAtStart?: string;
  topic: Topic;
  at?: Where;
  maxAge?: MaxAge;
  republishes?: Republishes;
  sentinels?: Sentinels;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface TemperatureSensor {
  measures: 'temperature';
  vessel: VesselId;
  /**
   * Unit of the payload after scale and offset.
   */
  unit: 'degC' | 'degF' | 'K';
  /**
   * Default 0.3 K.
   */
  uncertainty?: string;
  scale?: Scale;
  offset?: Offset;
  range?: Range;
  sentinels?: Sentinels;
  topic: Topic;
  at?: Where;
  maxAge?: MaxAge;
  republishes?: Republishes;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface ConductivitySensor {
  measures: 'conductivity';
  vessel: VesselId;
  /**
   * Unit of the payload after scale and offset.
   */
  unit: 'mS/cm' | 'uS/cm' | 'S/m';
  /**
   * Where the probe already compensates: to which temperature, usually "25 degC". Absent: raw conductivity.
   */
  compensatedTo?: string;
  /**
   * The temperature sensor that belongs to a raw reading.
   */
  temperatureFrom?: string;
  /**
   * A probe in still water reads wrong: its reading counts only after its route has run for this long. Between runs the last valid reading serves.
   */
  validAfter?: {
    route: RouteId;
    runsFor: Duration;
  };
  /**
   * For example "20 s", "45 min", "14 d".
   */
  validFor?: string;
  scale?: Scale;
  offset?: Offset;
  range?: Range;
  sentinels?: Sentinels;
  topic: Topic;
  at?: Where;
  maxAge?: MaxAge;
  republishes?: Republishes;
  availability?: Availability;
  name?: string;
  tag?: Tag;
  failureDomain?: FailureDomain;
}
export interface Actuator {
  name?: string;
  tag?: Tag;
  /**
   * A contactor switches the supply of others; a signal moves neither water nor heat.
   */
  kind: 'valve' | 'pump' | 'heater' | 'contactor' | 'doser' | 'signal';
  /**
   * Published without the retain flag, on a topic of its own.
   */
  command: {
    topic: Topic;
    on: Payload;
    off: Payload;
  };
  /**
   * For how long an `on` is good. `countedBy` device: the device itself drops out, told by the payload or by a fixed time of its own. `nobody`: it stays on until told, and every guarantee holds only while the service lives.
   */
  lease: {
    /**
     * For example "20 s", "45 min", "14 d".
     */
    lasts: string;
    countedBy: 'device' | 'nobody';
  };
  /**
   * What the device says it is doing.
   */
  feedback?: {
    topic: Topic;
    at?: Where;
    bit?: Bit;
    on: Word;
    off: Word;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    within?: string;
    maxAge?: MaxAge;
    republishes?: Republishes;
    availability?: Availability;
  };
  /**
   * What counts as proof that it is off. Default: feedback where it has one, else the end of the lease where the device counts it, else an assumption.
   */
  offProvenBy?: 'feedback' | 'lease' | 'no-flow' | 'assumption';
  /**
   * The id of one of the `actuators`.
   */
  upstream?: string;
  /**
   * Only for a valve: moved now and then so that it does not seize. Any work that is seen counts: a valve that opens and shuts daily is never exercised. It is moved by the service only with feedback, while everything else on its ways is proven off, and with a second valve that holds the water back meanwhile (before it, where the mains press on it); otherwise a person is asked to move it.
   */
  exercise?: {
    /**
     * For example "20 s", "45 min", "14 d".
     */
    every?: string;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    for?: string;
  };
  failureDomain?: FailureDomain;
}
export interface HandValve {
  /**
   * For example "the ball valve under the fresh vat".
   */
  name: string;
  /**
   * For example "20 s", "45 min", "14 d".
   */
  every?: string;
}
export interface Process {
  salinity: {
    /**
     * What is delivered, for example "35 PSU".
     */
    target: string;
    /**
     * How far off a batch may be and still be delivered, either way.
     */
    tolerance: string;
  };
  temperature?: {
    /**
     * Heated to this before delivery.
     */
    target: string;
    /**
     * Reached when this near.
     */
    tolerance: string;
    /**
     * Never delivered colder than this. Default 10 K below the target.
     */
    least?: string;
    /**
     * Never delivered warmer than this. Default 4 K above the target.
     */
    most?: string;
    /**
     * A day's exchange may move the system's temperature by this much without heating first. Default 0.3 K.
     */
    systemMayMove?: string;
  };
  salt: {
    /**
     * Default "sea salt".
     */
    name?: string;
    /**
     * Dissolved sea salts per dry product, by mass.
     */
    yield: string;
  };
  /**
   * The fresh vat. Needed where a route leads from the purifier into it.
   */
  refill?: {
    startBelow: Volume;
    stopAt: Volume;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    longestRun?: string;
  };
  batch: {
    /**
     * For example "240 L" or "63 gal".
     */
    contents: string;
    /**
     * For example "240 L" or "63 gal".
     */
    least?: string;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    dissolve: string;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    settle: string;
    /**
     * The measurement counts when it moves by no more than `within` for as long as `over`. Default half of the tolerance over 5 min.
     */
    steady?: {
      within: Salinity;
      over: Duration;
    };
    /**
     * How many corrections before a person must look. Default 4.
     */
    trims?: number;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    ageLimit?: string;
    /**
     * What keeps a finished batch from standing still. Default 10 min every 6 h.
     */
    circulate?: {
      every: Duration;
      lasts: Duration;
    };
    /**
     * For example "20 s", "45 min", "14 d".
     */
    measurementServes?: string;
  };
  /**
   * Water on hand, fresh and mixed, as a share of the systems' volume. Default 20 % (common practice, no source).
   */
  reserve?: string;
  /**
   * By system. A system that is left out is never exchanged.
   */
  exchange?: {
    [k: string]: Exchange;
  };
  /**
   * From one time of day to another, over midnight where `to` is the earlier.
   */
  quietHours?: {
    from: TimeOfDay;
    to: TimeOfDay;
    /**
     * What does not start in these hours.
     *
     * @minItems 1
     */
    rest: [
      'refill' | 'transfer' | 'exchange' | 'circulate',
      ...('refill' | 'transfer' | 'exchange' | 'circulate')[]
    ];
  };
}
export interface Exchange {
  /**
   * Share of the system's volume, spread over the day. "0 %": only on request.
   */
  perDay: string;
  /**
   * For example "240 L" or "63 gal".
   */
  step: string;
  /**
   * For example "240 L" or "63 gal".
   */
  largest?: string;
  /**
   * For example "240 L" or "63 gal".
   */
  errorBound?: string;
  /**
   * For example "20 s", "45 min", "14 d".
   */
  settle?: string;
  /**
   * The id of one of the `actuators`.
   */
  inhibitTopOff?: string;
}
/**
 * What may start or restart by itself, and what waits for a person.
 */
export interface Policy {
  /**
   * Default `person` for each.
   */
  starts?: {
    refill?: Starter;
    batch?: Starter;
    exchange?: Starter;
  };
  restarts?: {
    /**
     * `itself`: without anybody, on fresh evidence. `person`: waits for a request.
     */
    afterLinkLoss?: 'itself' | 'person';
    /**
     * `itself`: without anybody, on fresh evidence. `person`: waits for a request.
     */
    afterPowerCut?: 'itself' | 'person';
    /**
     * For example "20 s", "45 min", "14 d".
     */
    evidenceStandsFor?: string;
    /**
     * Restarts without a person in a day. Default 4.
     */
    perDay?: number;
  };
  proofTests?: {
    /**
     * For example "20 s", "45 min", "14 d".
     */
    every?: string;
    /**
     * For example "20 s", "45 min", "14 d".
     */
    grace?: string;
  };
}
export interface Link {
  /**
   * For example "20 s", "45 min", "14 d".
   */
  provenWithin?: string;
  /**
   * For example "20 s", "45 min", "14 d".
   */
  tickWithin?: string;
}
/**
 * How hubs get to know this station.
 */
export interface Announce {
  homie?: Homie;
  /**
   * Retained messages for hubs that want to be told in a form of their own. Withdrawn when they are taken out of this list.
   *
   * @maxItems 50
   */
  templates?: Template[];
}
/**
 * The station as a Homie 5 device.
 */
export interface Homie {
  /**
   * The first level of its topics, one level. Default "homie".
   */
  domain?: string;
  /**
   * Of everything retained. Default 2, which Homie recommends; 1 where the whole network uses 1.
   */
  qos?: 1 | 2;
  /**
   * What is said on `$log`. Default "warn".
   */
  log?: 'off' | 'error' | 'warn' | 'info';
  /**
   * Whether the broadcast `stop` holds every unit. Default false.
   */
  stopOnBroadcast?: boolean;
}
export interface Template {
  /**
   * One message for every property, or one for the station.
   */
  each: 'property' | 'station';
  /**
   * Only properties that fit everything that stands here.
   */
  where?: {
    /**
     * @minItems 1
     */
    datatype?: [
      'integer' | 'float' | 'boolean' | 'string' | 'enum' | 'duration',
      ...('integer' | 'float' | 'boolean' | 'string' | 'enum' | 'duration')[]
    ];
    settable?: boolean;
    retained?: boolean;
    /**
     * @minItems 1
     */
    unit?: [string, ...string[]];
    /**
     * Of the part that the property belongs to.
     *
     * @minItems 1
     */
    kind?: [
      (
        | 'station'
        | 'task'
        | 'refill'
        | 'batch'
        | 'exchange'
        | 'system'
        | 'alarms'
        | 'vessel'
        | 'route'
        | 'heater'
      ),
      ...(
        | 'station'
        | 'task'
        | 'refill'
        | 'batch'
        | 'exchange'
        | 'system'
        | 'alarms'
        | 'vessel'
        | 'route'
        | 'heater'
      )[]
    ];
  };
  /**
   * A full MQTT topic, without wildcards.
   */
  topic: string;
  /**
   * JSON. A text that is one placeholder and nothing else becomes its value; a member whose placeholder has no value is left out.
   */
  payload: {
    [k: string]: unknown;
  };
}
