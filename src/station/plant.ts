// The station as the rest of the house sees it: the owner's file with every quantity a number in the house unit
// (litres, litres a minute, milliseconds, degC, practical salinity, mS/cm, kilograms, watts), every default filled in,
// and what follows from the plumbing worked out once (what a route is for, which routes exclude each other, what lies
// upstream of what). Nothing here changes while the station runs. `plantOf` in `compile.ts` makes one from a StationFile.
import type { Exercise } from './exercise.ts';
import type { SensorKinds } from './file/sensor-kinds.ts';
import type { Words } from './words.ts';

export type VesselRole = 'purified-water' | 'fresh' | 'mixing' | 'system' | 'waste';
export type RoutePurpose = 'refill' | 'transfer' | 'circulate' | 'supply' | 'drain' | 'flush' | 'other';
export type FloatPosition = 'low' | 'high' | 'overflow';
export type Starter = 'itself' | 'person';

/** A text that an owner wrote for each language. */
export interface InLanguages {
  readonly en: string;
  readonly de: string;
}
export type OwnText = string | InLanguages;

/** What people call a thing. */
export interface Called {
  /** In English, where the languages differ. */
  readonly name: string;
  readonly names?: InLanguages;
}

export interface Plant extends Called {
  readonly id: string;
  readonly vessels: Readonly<Record<string, Vessel>>;
  readonly routes: Readonly<Record<string, Route>>;
  readonly heaters: Readonly<Record<string, Heater>>;
  readonly dosers: Readonly<Record<string, Doser>>;
  readonly sensors: Readonly<Record<string, Sensor>>;
  readonly actuators: Readonly<Record<string, Actuator>>;
  /** Valves that must move now and then, by the id of the actuator or of the hand valve. */
  readonly exercises: Readonly<Record<string, Exercise>>;
  /** The actuator held on while the service is healthy. */
  readonly alive: string | null;
  /** The one fresh vat, or null in a station with a single vat. */
  readonly freshId: string | null;
  /** The one mixing vat. */
  readonly mixingId: string;
  readonly systemIds: readonly string[];
  /** Where its electricity is switched off, and what else that switches off; null: nobody has said. */
  readonly mains: {
    readonly circuits: OwnText;
    readonly panel: OwnText;
    readonly alsoOff: OwnText | null;
  } | null;
  readonly process: ProcessTargets;
  readonly policy: Policy;
  readonly link: { readonly provenWithinMs: number; readonly tickWithinMs: number };
}

export interface HandStop {
  readonly action: 'close' | 'switch-off' | 'unplug';
  readonly what: OwnText;
  readonly where: OwnText | null;
}

export interface Vessel extends Probes, Called {
  readonly id: string;
  readonly role: VesselRole;
  /** To the brim; Infinity for the inlet and the waste. */
  readonly capacityL: number;
  readonly marginL: number;
  /** Least contents with which a pump may still draw. */
  readonly minimumL: number;
  /** A system's normal contents; 0 elsewhere. */
  readonly volumeL: number;
  readonly shape: Shape | null;
  readonly handDrawn: { readonly flowLpm: number; readonly perDayL: number } | null;
  readonly purityLimitMsPerCm: number | null;
  /** How a person stops by hand what comes in, and what goes out. */
  readonly stop: { readonly inflow: HandStop | null; readonly outflow: HandStop | null };
  readonly floats: Readonly<Partial<Record<FloatPosition, string>>>;
  /** Routes that end here and that start here, loops excluded. */
  readonly into: readonly string[];
  readonly outOf: readonly string[];
  /** What a simulated station starts with. */
  readonly initial: { readonly contentsL: number; readonly salinity: number; readonly temperatureC: number };
}

export type Shape =
  | { readonly kind: 'upright-cylinder'; readonly diameterMm: number; readonly heightMm: number }
  | { readonly kind: 'lying-cylinder'; readonly diameterMm: number; readonly lengthMm: number }
  | { readonly kind: 'box'; readonly lengthMm: number; readonly widthMm: number; readonly heightMm: number };

export interface Route extends Called {
  readonly id: string;
  readonly stop: HandStop | null;
  readonly from: string;
  readonly to: string;
  readonly purpose: RoutePurpose;
  /** Source and destination are one vessel. */
  readonly loop: boolean;
  /** A pump is among its actuators; otherwise pressure or height moves the water. */
  readonly pumped: boolean;
  /** Whether water runs on by itself when the pump stops: the heights say so, they rule it out, or nobody has stated them. */
  readonly siphons: 'by itself' | 'never' | 'may';
  readonly through: readonly string[];
  readonly shut: readonly string[];
  /** Every actuator that cuts one of `through` off, nearest first. */
  readonly upstream: readonly string[];
  /** Routes that must not run together with this one. */
  readonly excludes: readonly string[];
  readonly flowLeastLpm: number;
  readonly flowMostLpm: number;
  readonly flowUsualLpm: number;
  readonly primingMs: number;
  readonly runDownMs: number;
  readonly minimumRunMs: number;
  readonly minimumRestMs: number;
  readonly startsPerHour: number;
  /** The longest of what `through` may stay on after the last `on`: for so long may it run on unasked. */
  readonly leaseMs: number;
  readonly meter: string | null;
}

export interface Heater extends Called {
  readonly id: string;
  readonly vessel: string;
  readonly actuator: string;
  readonly powerW: number;
  readonly coveredL: number;
  readonly limitC: number;
  /** Where a hard-wired thermal cut-out opens; null: none is fitted. */
  readonly cutOutC: number | null;
  readonly lagMs: number;
  readonly lossWPerK: number;
}

export interface Doser {
  readonly id: string;
  readonly vessel: string;
  readonly actuator: string;
  readonly rateKgPerMin: number;
  readonly largestKg: number;
}

/** Where a value is found on the wire. `at` is a JSON Pointer, or null for the plain payload. */
export interface Place {
  readonly topic: string;
  readonly at: string | null;
}

/** What is published to make a device say its state. */
export interface Ask {
  readonly topic: string;
  readonly payload: string;
  readonly everyMs: number;
}

/** Where the payload says when its value is from. */
export interface Stamp {
  readonly at: string;
  readonly format: 'ISO 8601' | 'epoch s' | 'epoch ms';
}

export interface Availability extends Place {
  readonly online: Words;
  readonly offline: Words;
  /** Once it said offline, no reading counts until it says online. */
  readonly holds: boolean;
}

/** A value that is heard: where, how long it counts, and what the device says beside it. */
export interface HeardValue extends Place {
  readonly maxAgeMs: number;
  /** How often it publishes without a change, by itself or because it is asked; null: only on change. */
  readonly republishesMs: number | null;
  readonly ask: Ask | null;
  /** All of them must say online. */
  readonly availability: readonly Availability[];
  readonly stamp: Stamp | null;
  /** A message without the value says nothing, instead of something bad. */
  readonly mayLack: boolean;
  /** Where the device tells of a fault of it; null: nowhere. */
  readonly faultAt: string | null;
}

interface SensorBase extends HeardValue, Called {
  readonly id: string;
  readonly tag: string | null;
  readonly failureDomain: string | null;
}

interface ContactBase extends SensorBase {
  /** Which bit of the whole number that is found there, 0 the lowest; null where the value itself is the word. */
  readonly bit: number | null;
  /** Payload words for true (wet, running) and false (dry, resting). */
  readonly yes: Words;
  readonly no: Words;
  /** How long a reading that permits, or one that forbids, must stand. */
  readonly believeStartMs: number;
  readonly believeStopMs: number;
}

interface NumberBase extends SensorBase {
  readonly scale: number;
  readonly offset: number;
  /** In the payload's unit, after scale and offset. */
  readonly range: readonly [number, number] | null;
  /** In the payload's unit, before scale and offset. */
  readonly sentinels: readonly number[];
  readonly unit: string;
}

type Common<K extends SensorKind> = 'bit' extends keyof SensorKinds[K]['members'] ? ContactBase : NumberBase;
type Flat<T> = { readonly [K in keyof T]: T[K] };
/** What `file/sensor-kinds.ts` makes of a kind, with what every sensor and every contact or number has. */
export type SensorOf<K extends SensorKind> = Flat<
  { readonly measures: K } & Common<K> & ReturnType<SensorKinds[K]['inPlant']>
>;
export type SensorKind = keyof SensorKinds;
export type Sensor = { readonly [K in SensorKind]: SensorOf<K> }[SensorKind];
export type FloatSensor = SensorOf<'float'>;
/** Events carry litres. */
export type LevelSensor = SensorOf<'level'>;
/** Events carry litres a minute. */
export type FlowSensor = SensorOf<'flow'>;
/** Events carry litres, absolute. */
export type TotalSensor = SensorOf<'total'>;
/** Events carry mS/cm as sent, compensated or not. */
export type ConductivitySensor = SensorOf<'conductivity'>;

/** Of these a vessel has at most one; floats hang in it by their position. */
export type ProbeKind = {
  readonly [K in SensorKind]: 'vessel' extends keyof SensorKinds[K]['members'] ? Exclude<K, 'float'> : never;
}[SensorKind];
type Camel<S extends string> = S extends `${infer A}-${infer B}` ? `${A}${Capitalize<B>}` : S;
/** By kind, `topOff` for `top-off`: the id of the sensor, or null. */
export type Probes = { readonly [K in ProbeKind as Camel<K>]: string | null };

export type Payload = string | number | boolean | { readonly [key: string]: unknown };
export type OffProof = 'feedback' | 'lease' | 'no-flow' | 'assumption';

export interface Actuator extends Called {
  readonly id: string;
  readonly stop: HandStop | null;
  readonly tag: string | null;
  readonly kind: 'valve' | 'pump' | 'heater' | 'contactor' | 'doser' | 'signal';
  readonly command: {
    readonly topic: string;
    readonly on: Payload;
    readonly off: Payload;
    /** Payloads that switch nothing. */
    readonly harmless: readonly string[];
  };
  readonly leaseMs: number;
  /** For so long it may stay on after the last `on`: twice the lease where a restart of the device begins it anew. */
  readonly longestMs: number;
  /** False: it stays on until told. */
  readonly countsLease: boolean;
  readonly feedback: Feedback | null;
  readonly offProvenBy: OffProof;
  /** What cuts this one off, or null. */
  readonly upstream: string | null;
  readonly failureDomain: string | null;
}

export interface Feedback extends HeardValue {
  /** As with a contact. */
  readonly bit: number | null;
  readonly on: Words;
  readonly off: Words;
  readonly withinMs: number;
}

export interface ProcessTargets {
  readonly salinity: { readonly target: number; readonly tolerance: number };
  readonly temperature: {
    readonly targetC: number;
    readonly toleranceK: number;
    readonly leastC: number;
    readonly mostC: number;
    readonly systemMayMoveK: number;
  } | null;
  readonly saltName: string;
  readonly saltYield: number;
  readonly refill: {
    readonly startBelowL: number;
    readonly stopAtL: number;
    readonly longestRunMs: number;
  } | null;
  readonly batch: {
    readonly contentsL: number;
    readonly leastL: number;
    readonly dissolveMs: number;
    readonly settleMs: number;
    readonly steadyWithin: number;
    readonly steadyOverMs: number;
    readonly trims: number;
    readonly ageLimitMs: number;
    readonly circulateEveryMs: number;
    readonly circulateForMs: number;
    readonly measurementServesMs: number;
  };
  readonly reserveShare: number;
  readonly exchange: Readonly<Record<string, ExchangeTargets>>;
  readonly quietHours: {
    readonly fromMinute: number;
    readonly toMinute: number;
    readonly rest: readonly ('refill' | 'transfer' | 'exchange' | 'circulate')[];
  } | null;
}

export interface ExchangeTargets {
  /** Share of the system's volume a day. */
  readonly perDayShare: number;
  readonly stepL: number;
  readonly largestL: number;
  readonly errorBoundL: number;
  readonly settleMs: number;
  readonly inhibitTopOff: string | null;
}

export interface Policy {
  readonly starts: { readonly refill: Starter; readonly batch: Starter; readonly exchange: Starter };
  readonly restarts: {
    readonly afterLinkLoss: Starter;
    readonly afterPowerCut: Starter;
    readonly evidenceStandsForMs: number;
    readonly perDay: number;
  };
  /** How often every float and sensor that protects is tried by hand, and how long overdue is only an alarm. */
  readonly proofTests: { readonly everyMs: number; readonly graceMs: number };
}
