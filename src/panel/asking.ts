// The shape of what a page may send, as JSON Schema: everything else is refused before anybody reads it.
import { ASKS, type Ask, type Fields, fieldsOf, LONGEST, type Request } from '../control/guard/asks.ts';
import { MOST_MEASURED } from '../control/guard/limits.ts';

const litres = { type: 'number', exclusiveMinimum: 0, maximum: 1e6 } as const;

type Signed = Extract<Request, { readonly who: string }>;
type WithoutWho<R> = R extends Signed ? Omit<R, 'who'> & { readonly who?: string } : R;

/** A request as a page sends it: whoever signed in need not, and can not, say who they are. */
export type PageRequest = WithoutWho<Request>;

const isPerson = ([, { is, given }]: Fields[number]) => is === 'person' && given === undefined;
const isSigned = (request: PageRequest): request is WithoutWho<Signed> =>
  fieldsOf(request.ask).some(isPerson);
/** Where nobody signs in and nobody gave a name. */
const SOMEBODY = 'somebody at the station';

/** @param name whose session it came by; null where nobody signs in, and only then the page's word counts */
export function signedBy(name: string | null, request: PageRequest): Request {
  // Whoever says what was seen has a name: here nothing stands in for one that was not given.
  if (request.ask === 'upkeep-done') return { ...request, who: name ?? request.who ?? '' };
  if (request.ask === 'reset-trip')
    return name === null || request.seen === undefined ? request : { ...request, who: name };
  if (!isSigned(request)) return request as Request;
  const typed = request.who?.trim() ?? '';
  return { ...request, who: name ?? (typed === '' ? SOMEBODY : typed) } as Request;
}

function sent(field: Fields[number][1]): object {
  switch (field.is) {
    case 'word':
      return { enum: field.words };
    case 'amount':
      return {
        type: field.given === 'or-null' ? ['number', 'null'] : 'number',
        exclusiveMinimum: 0,
        maximum: field.most,
      };
    case 'salinity':
      return { type: 'number', minimum: 0, maximum: MOST_MEASURED };
    case 'person':
      return { type: 'string', maxLength: LONGEST.name };
    default:
      return {
        type: 'string',
        minLength: 1,
        maxLength: field.is === 'name' ? LONGEST.name : LONGEST.sentence,
      };
  }
}

function requestOf(ask: Ask) {
  const fields = fieldsOf(ask);
  const mayLack = ([, { is, given }]: Fields[number]) => is === 'person' || given === 'together';
  return {
    type: 'object',
    required: ['ask', ...fields.filter((field) => !mayLack(field)).map(([key]) => key)],
    additionalProperties: false,
    properties: {
      ask: { const: ask },
      ...Object.fromEntries(fields.map(([key, field]) => [key, sent(field)])),
    },
  };
}

/** One of the core's requests, house units. */
export const REQUEST_SCHEMA = {
  type: 'object',
  required: ['ask'],
  oneOf: (Object.keys(ASKS) as Ask[]).map(requestOf),
};

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
