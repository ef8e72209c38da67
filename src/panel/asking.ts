// The shape of what a page may send, as JSON Schema: everything else is refused before anybody reads it.
import { MOST_MEASURED } from '../control/guard/limits.ts';
import type { Request } from '../control/guard/types.ts';

const id = { type: 'string', minLength: 1, maxLength: 100 } as const;
const litres = { type: 'number', exclusiveMinimum: 0, maximum: 1e6 } as const;

const reason = { type: 'string', minLength: 1, maxLength: 500 } as const;
const who = { type: 'string', maxLength: 100 } as const;
const minutes = { type: 'number', exclusiveMinimum: 0, maximum: 1440 } as const;

type Signed = Extract<Request, { readonly who: string }>;
type WithoutWho<R> = R extends Signed ? Omit<R, 'who'> & { readonly who?: string } : R;

/** A request as a page sends it: whoever signed in need not, and can not, say who they are. */
export type PageRequest = WithoutWho<Request>;

const SIGNED: Readonly<Record<Signed['ask'], true>> = {
  'proof-test': true,
  'level-right': true,
  'valve-moved': true,
  bypass: true,
  shelve: true,
  'alarm-out-of-service': true,
};
const isSigned = (request: PageRequest): request is WithoutWho<Signed> => request.ask in SIGNED;
/** Where nobody signs in and nobody gave a name. */
const SOMEBODY = 'somebody at the station';

/** @param name whose session it came by; null where nobody signs in, and only then the page's word counts */
export function signedBy(name: string | null, request: PageRequest): Request {
  // Whoever says what was seen has a name: here nothing stands in for one that was not given.
  if (request.ask === 'reset-trip')
    return name === null || request.seen === undefined ? request : { ...request, who: name };
  if (!isSigned(request)) return request as Request;
  const typed = request.who?.trim() ?? '';
  return { ...request, who: name ?? (typed === '' ? SOMEBODY : typed) } as Request;
}

const ask = (
  name: Request['ask'],
  properties: Readonly<Record<string, object>>,
  optional: Readonly<Record<string, object>> = {},
) => ({
  type: 'object',
  required: ['ask', ...Object.keys(properties)],
  additionalProperties: false,
  properties: { ask: { const: name }, ...properties, ...optional },
});
const steer = (name: Request['ask']) => ask(name, { unit: { enum: ['refill', 'batch', 'exchange', 'all'] } });

/** One of the core's requests, house units. */
export const REQUEST_SCHEMA = {
  type: 'object',
  required: ['ask'],
  oneOf: [
    steer('start'),
    steer('hold'),
    steer('restart'),
    steer('stop'),
    steer('abort'),
    steer('reset'),
    ask('acknowledge', { alarm: id }),
    ask('reset-trip', { trip: id }, { who, seen: reason }),
    ask('salt-added', { massKg: { type: ['number', 'null'], exclusiveMinimum: 0, maximum: 1e4 } }),
    ask('salinity-measured', {
      vessel: id,
      salinity: { type: 'number', minimum: 0, maximum: MOST_MEASURED },
      instrument: { type: 'string', minLength: 1, maxLength: 200 },
    }),
    ask('exchange-now', { system: id, volumeL: litres }),
    ask('level-right', { system: id }, { who }),
    ask('out-of-service', { device: id, reason }),
    ask('into-service', { device: id }),
    ask('proof-test', { row: id }, { who }),
    ask('end-proof-test', {}),
    ask('valve-moved', { valve: id }, { who }),
    ask('bypass', { row: id, minutes, reason }, { who }),
    ask('end-bypass', { row: id }),
    ask('shelve', { alarm: id, minutes, reason }, { who }),
    ask('unshelve', { alarm: id }),
    ask('alarm-out-of-service', { alarm: id, reason }, { who }),
    ask('alarm-into-service', { alarm: id }),
  ],
} as const;

export const SIGN_IN_SCHEMA = {
  type: 'object',
  required: ['name', 'password'],
  additionalProperties: false,
  properties: {
    name: { type: 'string', minLength: 1, maxLength: 100 },
    password: { type: 'string', minLength: 1, maxLength: 200 },
  },
} as const;

export const SALT_SCHEMA = {
  type: 'object',
  required: ['massKg'],
  additionalProperties: false,
  properties: { massKg: { type: 'number', minimum: 0, maximum: 1e5 } },
} as const;

const minute = { type: 'integer', minimum: 0, maximum: 1439 } as const;

export const CHANGE_SCHEMA = {
  type: 'object',
  additionalProperties: false,
  minProperties: 1,
  properties: {
    salinity: { type: 'number', minimum: 1, maximum: 42 },
    temperatureC: { type: 'number', minimum: 5, maximum: 35 },
    batchL: litres,
    reserveShare: { type: 'number', minimum: 0, maximum: 2 },
    exchange: {
      type: 'object',
      maxProperties: 50,
      additionalProperties: {
        type: 'object',
        additionalProperties: false,
        properties: {
          perDayShare: { type: 'number', minimum: 0, maximum: 1 },
          stepL: litres,
        },
      },
    },
    quietHours: {
      anyOf: [
        { type: 'null' },
        {
          type: 'object',
          required: ['fromMinute', 'toMinute'],
          additionalProperties: false,
          properties: { fromMinute: minute, toMinute: minute },
        },
      ],
    },
  },
} as const;
