// What a person or a hub asks, read, checked and turned into a Request; or refused with the field and the mend.

import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import { ASKS, type Ask, type Fields, fieldsOf, type Kind, type Request } from '../control/guard/asks.ts';
import type { Input } from '../control/guard/types.ts';
import type { Sentence } from '../language/told.ts';
import type { Plant } from '../station/plant.ts';
import { COMPILED_FAST } from '../station/schema.ts';
import { LIMITS } from './limits.ts';
import { FieldError, type Measured, salinityOf } from './measured.ts';
import { amount, known, schemaError, unknownWords } from './request-fields.ts';
import { REQUEST_SCHEMA_ID, requestSchema } from './request-schema.ts';
import { documentOf } from './values.ts';

export interface Answer {
  readonly id: string | null;
  readonly accepted: boolean;
  readonly message: Sentence;
}

export type Asked =
  | { readonly input: Extract<Input, { type: 'request' }> }
  /** Answered here: refused, or asked before. Null: asked before and not answered yet. */
  | { readonly answer: Answer | null };

export interface Requests {
  readonly read: (payload: Uint8Array, retain: boolean) => Asked;
  /** Keeps what was answered, for whoever asks the same again. */
  readonly answered: (answer: Answer) => void;
}

const ajv = new Ajv2020({ ...COMPILED_FAST, allErrors: false }).addSchema(requestSchema());

/** Each kind is compiled when it is first asked: some milliseconds then, and a fifth of a second of every start otherwise. */
function validatorOf(kind: unknown): ValidateFunction | undefined {
  return isAsk(kind) ? ajv.getSchema(`${REQUEST_SCHEMA_ID}#/$defs/${kind}`) : undefined;
}

export function requestsOf(plant: Plant): Requests {
  const asked = new Map<string, Answer | null>();
  return {
    read: (payload, retain) => {
      const document = documentOf(payload);
      const body = document.json();
      const id = idOf(body);
      const before = id === null ? undefined : asked.get(id);
      // A message may arrive twice (R12), and salt that went in once must not count twice.
      if (before !== undefined) return { answer: before };
      if (retain)
        return {
          answer: refusal(id, 'a stored (retained) request is history: publish it without the retain flag'),
        };
      try {
        const request = requestOf(body, plant);
        remember(asked, id ?? '', null);
        return { input: { type: 'request', id: id ?? '', request } };
      } catch (error) {
        if (!(error instanceof FieldError)) throw error;
        return { answer: refusal(id, `${error.field} ${error.message}`) };
      }
    },
    answered: ({ id, accepted, message }) => {
      if (id !== null && asked.has(id)) asked.set(id, { id, accepted, message });
    },
  };
}

export function refusal(id: string | null, text: string): Answer {
  return { id, accepted: false, message: { text } };
}

function remember(asked: Map<string, Answer | null>, id: string, answer: Answer | null): void {
  asked.set(id, answer);
  const oldest = asked.keys().next().value;
  if (asked.size > LIMITS.rememberedRequests && oldest !== undefined) asked.delete(oldest);
}

function idOf(body: unknown): string | null {
  if (typeof body !== 'object' || body === null || !Object.hasOwn(body, 'id')) return null;
  const { id } = body as { id: unknown };
  return typeof id === 'string' && id.length > 0 && id.length <= 64 ? id : null;
}

/** @throws FieldError */
function requestOf(body: unknown, plant: Plant): Request {
  if (typeof body !== 'object' || body === null || Array.isArray(body)) {
    throw new FieldError('the request', 'is no JSON object: write {"id": "...", "request": "..."}');
  }
  const kind = Object.hasOwn(body, 'request') ? (body as { request: unknown }).request : undefined;
  const validate = validatorOf(kind);
  if (validate === undefined) throw new FieldError('request', unknownWords(kind, Object.keys(ASKS)));
  if (!validate(body)) throw schemaError(validate.errors?.[0]);
  const { request: ask, ...written } = body as { request: Ask };
  const read = fieldsOf(ask).flatMap(([key, field]) => {
    const value = readField(plant, field, key, written);
    return value === undefined ? [] : [[key, value]];
  });
  return { ask, ...Object.fromEntries(read) } as Request;
}

const isAsk = (kind: unknown): kind is Ask => typeof kind === 'string' && Object.hasOwn(ASKS, kind);

type Written = Readonly<Record<string, string>>;

/** @throws FieldError */
function readField(plant: Plant, field: Fields[number][1], key: string, written: Written) {
  if (field.is === 'salinity') return salinityOf(written as unknown as Measured);
  const name = field.is === 'amount' ? field.wire : key;
  const text = written[name];
  if (text === undefined) return field.given === 'or-null' ? null : undefined;
  if (field.is === 'amount') return amount(name, text, field);
  return field.is === 'name' && field.of !== null ? known(name, text, IDS_OF[field.of](plant)) : text;
}

const IDS_OF: Readonly<Record<Kind, (plant: Plant) => readonly string[]>> = {
  vessel: ({ vessels }) => Object.keys(vessels),
  system: ({ systemIds }) => systemIds,
  device: ({ sensors, actuators }) => [...Object.keys(sensors), ...Object.keys(actuators)],
  exercise: ({ exercises }) => Object.keys(exercises),
};
