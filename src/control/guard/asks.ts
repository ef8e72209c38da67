// What may be asked of a station, once: each request, its fields, their bounds and what they mean. The type that the core takes,
// what is read from MQTT and from the page, the schemas of both, and the bounds of dialogs and of the hub come from here.
import { BYPASS_MOST_MS, COMING_MOST_MS, MOST_POURED_KG, SHELVE_MOST_MS } from './limits.ts';

const MINUTE_MS = 60_000;

/** What an id may be of; the station's file says which there are. */
export type Kind = 'vessel' | 'system' | 'device' | 'exercise';

/** A quantity: a number here, and a text with its unit on the wire, under a name without the unit. */
export interface Amount {
  readonly is: 'amount';
  readonly wire: string;
  readonly format: 'mass' | 'volume' | 'duration-with-unit';
  /** How many of the house unit of its format the number counts. */
  readonly per: number;
  /** The number is more than 0, and at most this. */
  readonly most: number;
}

export type Field =
  | { readonly is: 'word'; readonly words: readonly string[] }
  | { readonly is: 'name'; readonly of: Kind | null }
  /** Who answers for it: on the page whoever signed in, and nobody may say another name. */
  | { readonly is: 'person' }
  | { readonly is: 'sentence' }
  | Amount
  /** Practical salinity, 0 to MOST_MEASURED; on the wire whatever an instrument shows. */
  | { readonly is: 'salinity' };

/** How long what a person writes may be, in characters. */
export const LONGEST = { name: 200, sentence: 500 } as const;

const unit = { is: 'word', words: ['refill', 'batch', 'exchange', 'all'] } as const;
const name = { is: 'name', of: null } as const;
const idOf = <K extends Kind>(of: K) => ({ is: 'name', of }) as const;
const who = { is: 'person' } as const;
const reason = { is: 'sentence' } as const;
const minutes = (mostMs: number) =>
  ({
    is: 'amount',
    wire: 'lasts',
    format: 'duration-with-unit',
    per: MINUTE_MS,
    most: mostMs / MINUTE_MS,
  }) as const;

/** Of a request's fields of this sort either all are given or none. */
const together = <F extends Field>(field: F) => ({ ...field, given: 'together' }) as const;
/** May be left out on the wire, and is null here then. */
const orNull = <F extends Field>(field: F) => ({ ...field, given: 'or-null' }) as const;

export const ASKS = {
  start: { unit },
  hold: { unit },
  restart: { unit },
  stop: { unit },
  abort: { unit },
  reset: { unit },
  acknowledge: { alarm: name },
  /** Somebody is on the way to the station: for a while nobody is called again, and no second person. */
  'on-my-way': { who, minutes: minutes(COMING_MOST_MS) },
  /** With a name and a sentence also where no live evidence shows that the cause is gone. */
  'reset-trip': { trip: name, who: together(who), seen: together(reason) },
  'salt-added': {
    massKg: orNull({ is: 'amount', wire: 'mass', format: 'mass', per: 1, most: MOST_POURED_KG } as const),
  },
  'salinity-measured': { vessel: idOf('vessel'), salinity: { is: 'salinity' }, instrument: name },
  'exchange-now': {
    system: idOf('system'),
    volumeL: { is: 'amount', wire: 'volume', format: 'volume', per: 1, most: 1e6 },
  },
  /** A person has looked at a system and brought its level to where it belongs: a new ledger begins. */
  'level-right': { system: idOf('system'), who },
  'out-of-service': { device: idOf('device'), reason },
  'into-service': { device: idOf('device') },
  /** Starts the watch over a proof test of a row that has one. */
  'proof-test': { row: name, who },
  'end-proof-test': {},
  /** A person has opened and shut a valve by hand. */
  'valve-moved': { valve: idOf('exercise'), who },
  /** A task of upkeep that an alarm left is done; the name of whoever did it is needed. */
  'upkeep-done': { task: name, who },
  /** Switches a row off for a while, where its kind may be. */
  bypass: { row: name, minutes: minutes(BYPASS_MOST_MS), reason, who },
  'end-bypass': { row: name },
  /** Silences an alarm for a while; what the alarm speaks of goes on protecting. */
  shelve: { alarm: name, minutes: minutes(SHELVE_MOST_MS.notice), reason, who },
  unshelve: { alarm: name },
  /** Silences an alarm for maintenance, until it is returned. */
  'alarm-out-of-service': { alarm: name, reason, who },
  'alarm-into-service': { alarm: name },
} as const satisfies Readonly<Record<string, Readonly<Record<string, Field & Given>>>>;

interface Given {
  readonly given?: 'together' | 'or-null';
}
type ValueOf<F> = F extends { is: 'amount' | 'salinity' }
  ? F extends { given: 'or-null' }
    ? number | null
    : number
  : F extends { is: 'word'; words: readonly (infer W)[] }
    ? W
    : string;
type Together<F> = { [K in keyof F]: F[K] extends { given: 'together' } ? K : never }[keyof F];
type Flat<T> = { [K in keyof T]: T[K] };

type Table = typeof ASKS;
export type Ask = keyof Table;
/** What a person or a hub asks, one type for each. */
export type Request = {
  [A in Ask]: Flat<
    { readonly ask: A } & {
      readonly [K in Exclude<keyof Table[A], Together<Table[A]>>]: ValueOf<Table[A][K]>;
    } & { readonly [K in Together<Table[A]>]?: ValueOf<Table[A][K]> }
  >;
}[Ask];

/** A salinity on the wire. */
export interface Measurement {
  readonly value: string;
  readonly sampleTemperature?: string;
  readonly referenceTemperature?: string;
}
type Wire<F, K extends keyof F> = F[K] extends { wire: infer W extends string } ? W : K;
type WordsOf<F> = F extends { words: readonly (infer W)[] } ? W : string;
/** What may be published, without its id. */
export type WrittenRequest = {
  [A in Ask]: { readonly request: A } & {
    readonly [K in keyof Table[A] as Table[A][K] extends { is: 'salinity' } | { given: string }
      ? never
      : Wire<Table[A], K>]: WordsOf<Table[A][K]>;
  } & {
    readonly [K in keyof Table[A] as Table[A][K] extends { given: string }
      ? Wire<Table[A], K>
      : never]?: string;
  } & (Table[A] extends { salinity: unknown } ? Measurement : unknown);
}[Ask];

export type Fields = readonly (readonly [string, Field & Given])[];
/** The fields of a request, in the order of the table. */
export const fieldsOf = (ask: Ask): Fields => Object.entries(ASKS[ask]);
