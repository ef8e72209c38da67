// What a person or a hub asks, read, checked and turned into a Request; or refused with the field and the mend.
import { readFileSync } from 'node:fs';
import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import type { Input, Request } from '../control/guard/types.ts';
import type { Plant } from '../station/plant.ts';
import { COMPILED_FAST } from '../station/schema.ts';
import { LIMITS } from './limits.ts';
import { FieldError, type Measurement, salinityOf } from './measured.ts';
import { known, positive, schemaError, unknownWords } from './request-fields.ts';
import { documentOf } from './values.ts';

export interface Answer {
  readonly id: string | null;
  readonly accepted: boolean;
  readonly words: string;
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

const SCHEMA = JSON.parse(
  readFileSync(new URL('../../schemas/request.schema.json', import.meta.url), 'utf8'),
) as {
  readonly $id: string;
  readonly properties: { readonly request: { readonly enum: readonly string[] } };
};
const KINDS = SCHEMA.properties.request.enum;
const ajv = new Ajv2020({ ...COMPILED_FAST, allErrors: false }).addSchema(SCHEMA);

/** Each kind is compiled when it is first asked: some milliseconds then, and a fifth of a second of every start otherwise. */
function validatorOf(kind: unknown): ValidateFunction | undefined {
  return typeof kind === 'string' && KINDS.includes(kind)
    ? ajv.getSchema(`${SCHEMA.$id}#/$defs/${kind}`)
    : undefined;
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
    answered: ({ id, accepted, words }) => {
      if (id !== null && asked.has(id)) asked.set(id, { id, accepted, words });
    },
  };
}

export function refusal(id: string | null, words: string): Answer {
  return { id, accepted: false, words };
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
  if (validate === undefined) throw new FieldError('request', unknownWords(kind, KINDS));
  if (!validate(body)) throw schemaError(validate.errors?.[0]);
  return meaningOf(body as unknown as Body, plant);
}

type Body =
  | {
      readonly request: Extract<Request, { unit: unknown }>['ask'];
      readonly unit: Extract<Request, { unit: unknown }>['unit'];
    }
  | { readonly request: 'acknowledge'; readonly alarm: string }
  | { readonly request: 'reset-trip'; readonly trip: string; readonly who?: string; readonly seen?: string }
  | { readonly request: 'salt-added'; readonly mass?: string }
  | ({ readonly request: 'salinity-measured'; readonly vessel: string } & Measurement)
  | { readonly request: 'exchange-now'; readonly system: string; readonly volume: string }
  | { readonly request: 'level-right'; readonly system: string; readonly who: string }
  | { readonly request: 'out-of-service'; readonly device: string; readonly reason: string }
  | { readonly request: 'into-service'; readonly device: string }
  | { readonly request: 'proof-test'; readonly row: string; readonly who: string }
  | { readonly request: 'end-proof-test' }
  | { readonly request: 'valve-moved'; readonly valve: string; readonly who: string }
  | ({ readonly request: 'bypass'; readonly row: string } & ForAWhile)
  | { readonly request: 'end-bypass'; readonly row: string }
  | ({ readonly request: 'shelve'; readonly alarm: string } & ForAWhile)
  | { readonly request: 'unshelve'; readonly alarm: string }
  | {
      readonly request: 'alarm-out-of-service';
      readonly alarm: string;
      readonly reason: string;
      readonly who: string;
    }
  | { readonly request: 'alarm-into-service'; readonly alarm: string };

interface ForAWhile {
  readonly lasts: string;
  readonly reason: string;
  readonly who: string;
}

const MINUTE_MS = 60_000;
const minutesOf = ({ lasts }: ForAWhile): number => positive('lasts', lasts, 'duration') / MINUTE_MS;

function meaningOf(body: Body, plant: Plant): Request {
  const devices = () => [...Object.keys(plant.sensors), ...Object.keys(plant.actuators)];
  switch (body.request) {
    case 'acknowledge':
      return { ask: body.request, alarm: body.alarm };
    case 'reset-trip':
      return {
        ask: body.request,
        trip: body.trip,
        ...(body.who === undefined || body.seen === undefined ? {} : { who: body.who, seen: body.seen }),
      };
    case 'salt-added':
      return {
        ask: body.request,
        massKg: body.mass === undefined ? null : positive('mass', body.mass, 'mass'),
      };
    case 'salinity-measured':
      return {
        ask: body.request,
        vessel: known('vessel', body.vessel, Object.keys(plant.vessels)),
        salinity: salinityOf(body),
        instrument: body.instrument,
      };
    case 'exchange-now':
      return {
        ask: body.request,
        system: known('system', body.system, plant.systemIds),
        volumeL: positive('volume', body.volume, 'volume'),
      };
    case 'level-right':
      return { ask: body.request, system: known('system', body.system, plant.systemIds), who: body.who };
    case 'out-of-service':
      return { ask: body.request, device: known('device', body.device, devices()), reason: body.reason };
    case 'into-service':
      return { ask: body.request, device: known('device', body.device, devices()) };
    case 'proof-test':
      return { ask: body.request, row: body.row, who: body.who };
    case 'end-proof-test':
      return { ask: body.request };
    case 'valve-moved':
      return {
        ask: body.request,
        valve: known('valve', body.valve, Object.keys(plant.exercises)),
        who: body.who,
      };
    case 'bypass':
      return {
        ask: body.request,
        row: body.row,
        minutes: minutesOf(body),
        reason: body.reason,
        who: body.who,
      };
    case 'shelve':
      return {
        ask: body.request,
        alarm: body.alarm,
        minutes: minutesOf(body),
        reason: body.reason,
        who: body.who,
      };
    case 'end-bypass':
      return { ask: body.request, row: body.row };
    case 'unshelve':
    case 'alarm-into-service':
      return { ask: body.request, alarm: body.alarm };
    case 'alarm-out-of-service':
      return { ask: body.request, alarm: body.alarm, reason: body.reason, who: body.who };
    default:
      return { ask: body.request, unit: body.unit };
  }
}
