// What passes between the service and its page: plain JSON, read by both, so nothing here may need node or a browser.
// Numbers are in house units (litres, degC, practical salinity, milliseconds); the page shows them as the person prefers.
// `atMs` is a moment: milliseconds since 1970 in the source's own time, which a simulated station sets itself.

import type { Row } from '../control/guard/interlocks.ts';
import type { Look as RowInput } from '../control/guard/look.ts';
import type { AlarmState, Priority, Request } from '../control/guard/types.ts';
import type { Status } from '../control/process/describe.ts';
import type { Stage } from '../control/process/state.ts';
import type { Message } from '../language/message.ts';
import type { Actuator, Called, OwnText, Plant, Sensor } from '../station/plant.ts';
import type { ProofOutcome } from './proof-book.ts';

export type { PageRequest } from './asking.ts';
export type { ProofOutcome } from './proof-book.ts';

/** Who is at the page: `look` reads, `act` may also ask things of the station. */
export type Role = 'look' | 'act';

export interface Me {
  readonly signedIn: boolean;
  /** Whether this service knows people at all; without them everybody on this computer may act. */
  readonly signInNeeded: boolean;
  readonly name: string | null;
  readonly role: Role;
  /** Goes back with everything that is asked, in the header `x-panel-token`. */
  readonly token: string | null;
  /** Which page this service serves: one that was loaded from another release loads itself anew. */
  readonly page: string;
}

/** What is said: a message, which the page prints; or text that is told as it is, of a book of an older release for instance. */
export type Words = Message | string;

export interface Answer {
  readonly accepted: boolean;
  readonly words: Words;
}

export type { Look as RowInput, Meaning } from '../control/guard/look.ts';

export interface RowNow {
  /** It holds at this moment; a latched trip forbids even when it no longer does. */
  readonly holds: boolean;
  readonly latched: boolean;
  /** Since when it forbids; null while it does not. */
  readonly sinceMs: number | null;
  /** It stood already when this service began to look: it may be older. */
  readonly orLonger: boolean;
  readonly inputs: readonly RowInput[];
}

export interface RowStanding {
  readonly key: string;
  readonly id: string;
  /** The id of what it is about. */
  readonly subject: string;
  readonly about: Message;
  readonly hazard: Message;
  readonly harms: Row['harms'];
  readonly finding: Row['finding'];
  readonly means: Row['means'];
  readonly action: 'block' | 'trip';
  readonly forbids: readonly string[];
  readonly priority: Priority | null;
  readonly words: Message;
  readonly response: Message;
  readonly proof: Message | null;
  /** The contact that a person moves for its proof test. */
  readonly proves: string | null;
  /** Of a row about a proof test: the row that is tested. */
  readonly tests: string | null;
  /** What must be so while it is bypassed; null where it never may be. */
  readonly bypassIf: Message | null;
}

export type Ask = Request['ask'];
export type Steer = Extract<Request, { unit: unknown }>['ask'];

/** The parts of a view; each is sent anew only when it has changed. */
export interface Sections {
  /** `isSilent`: still counted as proven, but its own echo is overdue. */
  readonly link: Status['link'] & {
    readonly up: boolean;
    readonly sinceMs: number;
    readonly isSilent: boolean;
  };
  readonly units: Status['units'];
  /** What each unit may be asked now: by unit, or by system for an exchange. */
  readonly steer: {
    readonly refill: readonly Steer[];
    readonly batch: readonly Steer[];
    readonly exchange: readonly Steer[];
  };
  readonly vessels: Status['vessels'];
  readonly routes: Status['routes'];
  readonly heaters: Status['heaters'];
  readonly sensors: Status['sensors'];
  /** Since when each sensor says this, or is silent. */
  readonly heard: Readonly<Record<string, number>>;
  readonly actuators: Status['actuators'];
  readonly outOfService: Status['outOfService'];
  /** With what the row that is being tested took to answer, once it has. */
  readonly proofTests: Status['proofTests'] & { readonly answeredSeconds: number | null };
  readonly proofOutcomes: Readonly<Record<string, ProofOutcome>>;
  readonly exercises: Status['exercises'];
  readonly bypasses: Status['bypasses'];
  readonly alarmLoad: Status['alarmLoad'];
  readonly task: Status['task'];
  readonly upkeep: Status['upkeep'];
  readonly trips: Status['trips'];
  /** Of them, those that only a named person who looked can reset, each with why. */
  readonly looks: Readonly<Record<string, Message>>;
  readonly alarms: readonly (Status['alarms'][number] & { readonly sinceMs: number })[];
  readonly forecast: Status['forecast'];
  readonly unknown: Status['unknown'];
  readonly rows: Readonly<Record<string, RowNow>>;
  readonly batch: BatchRecord | null;
}

export interface View extends Sections {
  readonly seq: number;
  readonly atMs: number;
  readonly simulated: boolean;
}

/** A station as the page needs it: the plant without its topics and payloads, and its rows. */
export interface Standing extends Called {
  readonly id: string;
  readonly vessels: Plant['vessels'];
  readonly routes: Plant['routes'];
  readonly heaters: Plant['heaters'];
  readonly dosers: Plant['dosers'];
  /** Valves that must move now and then, those of a person's hand among them. */
  readonly exercises: Readonly<Record<string, Called>>;
  readonly sensors: Readonly<Record<string, SensorStanding>>;
  readonly actuators: Readonly<Record<string, ActuatorStanding>>;
  readonly freshId: string | null;
  readonly mixingId: string;
  readonly systemIds: readonly string[];
  readonly process: Plant['process'];
  readonly policy: Plant['policy'];
  readonly link: Plant['link'];
  readonly rows: readonly RowStanding[];
  /** Which targets each unit works with. */
  readonly targets: {
    readonly refill: readonly string[];
    readonly batch: readonly string[];
    readonly exchange: Readonly<Record<string, readonly string[]>>;
  };
  readonly channels: readonly Channel[];
  readonly asks: readonly Ask[];
  readonly limits: { readonly proofWaitMs: number; readonly bypassMostMs: number };
  /** A changed target can be taken over by the running service, or only written into the station file. */
  readonly change: 'taken-over' | 'file' | 'none';
  readonly saltStock: boolean;
}

export type SensorStanding = Pick<Sensor, 'id' | 'name' | 'names' | 'tag' | 'measures' | 'maxAgeMs'> & {
  readonly vessel: string | null;
  readonly route: string | null;
  readonly tray: OwnText | null;
  readonly position: 'low' | 'high' | 'overflow' | null;
  readonly markL: number | null;
};
export type ActuatorStanding = Pick<
  Actuator,
  'id' | 'name' | 'names' | 'tag' | 'kind' | 'upstream' | 'offProvenBy'
> & {
  readonly feedback: boolean;
  /** The rows that say that it does not obey. */
  readonly watchedBy: readonly string[];
};

/** One line of the history. */
export interface Channel {
  /** `least:fresh`, `flow:transfer`, `reserve`. */
  readonly id: string;
  readonly kind:
    | 'least'
    | 'most'
    | 'salinity'
    | 'temperature'
    | 'flow'
    | 'output'
    | 'delivered'
    | 'difference'
    | 'reserve';
  readonly subject: string | null;
}

export interface HistoryQuery {
  readonly channels: readonly string[];
  readonly fromMs: number;
  readonly toMs: number;
  /** At most so many buckets. */
  readonly points: number;
}

/** Decimated: the least and the most in each bucket, so that no peak is lost; null where nothing is known. */
export interface HistoryAnswer {
  readonly bucketMs: number;
  /** The middle of each bucket. */
  readonly atMs: readonly number[];
  readonly series: Readonly<
    Record<string, { readonly least: readonly (number | null)[]; readonly most: readonly (number | null)[] }>
  >;
}

export interface PastEvent {
  readonly atMs: number;
  readonly about: 'phase' | 'trip' | 'request' | 'alarm' | 'task' | 'service';
  readonly words: Words;
  readonly alarm?: { readonly alarm: string; readonly state: AlarmState; readonly priority: Priority };
}

export interface EventQuery {
  readonly fromMs: number;
  readonly toMs: number;
  readonly limit: number;
}

export interface Incident {
  readonly id: string;
  readonly alarm: string;
  readonly priority: Priority;
  readonly words: Words;
  readonly response: Words;
  readonly fromMs: number;
  readonly acknowledgedMs: number | null;
  readonly toMs: number | null;
}

/** An incident with what happened round it. */
export interface Story {
  readonly incident: Incident;
  readonly fromMs: number;
  readonly toMs: number;
  readonly events: readonly PastEvent[];
  /** The lines worth looking at. */
  readonly channels: readonly string[];
}

export interface BatchRecord {
  readonly number: number;
  readonly beganMs: number;
  readonly endedMs: number | null;
  readonly stages: readonly {
    readonly stage: Stage;
    readonly fromMs: number;
    readonly toMs: number | null;
  }[];
  readonly saltAddedKg: number;
  readonly trims: number;
  readonly acceptedMs: number | null;
  readonly acceptedSalinity: number | null;
  readonly acceptedC: number | null;
  /** What this batch says of its salt: dissolved salts per dry product. */
  readonly yieldKgPerKg: number | null;
  /** Null where only the journal saw it, which does not count this by batch. */
  readonly deliveredL: number | null;
}

/** One day: what was exchanged against plan, and what the purifier gave. */
export interface LedgerDay {
  /** `2026-03-31`, in the source's time. */
  readonly day: string;
  readonly exchange: Readonly<
    Record<
      string,
      { readonly deliveredL: number; readonly drainedL: number; readonly plannedL: number | null }
    >
  >;
  readonly saltKg: number;
  readonly refillL: number;
  readonly refillMs: number;
  /** Means while the purifier ran; null without a probe. */
  readonly purityMsPerCm: number | null;
  readonly inletC: number | null;
}

export interface SaltStock {
  readonly massKg: number;
  /** When a person counted, and what has gone since. */
  readonly countedMs: number;
  readonly usedKg: number;
}

/** What a person may change before seeing what would come of it. House units; left out: stays as it is. */
export interface Change {
  readonly salinity?: number;
  readonly temperatureC?: number;
  readonly batchL?: number;
  readonly reserveShare?: number;
  readonly exchange?: Readonly<Record<string, { readonly perDayShare?: number; readonly stepL?: number }>>;
  readonly quietHours?: { readonly fromMinute: number; readonly toMinute: number } | null;
}

export interface WhatIfRun {
  /** Hours from now. */
  readonly hours: readonly number[];
  readonly lines: Readonly<Record<string, readonly (number | null)[]>>;
  readonly sums: {
    readonly deliveredL: number;
    readonly saltKg: number;
    readonly batches: number;
    readonly tasks: number;
    readonly trips: number;
    readonly readyShare: number;
    readonly leastReserveShare: number;
    /** What would ask for somebody, urgent or soon, each once. */
    readonly alarms: readonly Message[];
  };
}

export type WhatIf =
  | { readonly stage: 'running'; readonly share: number }
  | { readonly stage: 'done'; readonly now: WhatIfRun; readonly changed: WhatIfRun; readonly tookMs: number }
  | { readonly stage: 'failed'; readonly words: Words };
