// One value out of one payload. Whatever a stranger sends, nothing here throws: it is a value, or a reason why not.
//
// JSON Pointer as in RFC 6901. Only own properties are followed, so `/__proto__/x` and `/constructor/name` find nothing.
import type { BadReading } from '../control/guard/types.ts';
import { LIMITS } from './limits.ts';

export type Found = { readonly value: string | number | boolean } | { readonly bad: BadReading };

/** A payload, decoded as text and as JSON at most once however many sensors share it. */
export interface Document {
  /** Null where it is too large or no UTF-8. */
  readonly text: string | null;
  /** Undefined where it is no JSON. */
  readonly json: () => unknown;
}

const UTF8 = new TextDecoder('utf-8', { fatal: true });
const DECIMAL = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/u;

export function documentOf(payload: Uint8Array): Document {
  const text = textOf(payload);
  let parsed: { readonly json: unknown } | null = null;
  return {
    text,
    json: () => {
      parsed ??= { json: parse(text) };
      return parsed.json;
    },
  };
}

function textOf(payload: Uint8Array): string | null {
  if (payload.byteLength > LIMITS.payloadBytes) return null;
  try {
    return UTF8.decode(payload);
  } catch {
    return null;
  }
}

function parse(text: string | null): unknown {
  if (text === null) return undefined;
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** The steps of a JSON Pointer: `/a~1b/0` is `a/b`, `0`. Null: the plain payload. */
export function stepsOf(pointer: string | null): readonly string[] | null {
  if (pointer === null) return null;
  return pointer
    .split('/')
    .slice(1)
    .map((step) => step.replaceAll('~1', '/').replaceAll('~0', '~'));
}

/** The scalar at the place. An object or a list there says nothing; null and nothing at all are `empty`. */
export function valueAt(document: Document, steps: readonly string[] | null): Found {
  if (document.text === null) return { bad: 'unparsable' };
  const text = document.text.trim();
  if (text === '') return { bad: 'empty' };
  if (steps === null) return { value: text };
  const found = follow(document.json(), steps);
  if (found === null) return { bad: 'empty' };
  if (typeof found === 'string') return found.trim() === '' ? { bad: 'empty' } : { value: found.trim() };
  if (typeof found === 'number' || typeof found === 'boolean') return { value: found };
  return { bad: 'unparsable' };
}

function follow(json: unknown, steps: readonly string[]): unknown {
  let here = json;
  for (const step of steps) {
    if (typeof here !== 'object' || here === null) return undefined;
    // RFC 6901, section 4: an index of a list has no leading zero, and `-` is the element that does not exist.
    if (Array.isArray(here) && !/^(?:0|[1-9]\d*)$/u.test(step)) return undefined;
    if (!Object.hasOwn(here, step)) return undefined;
    here = (here as Record<string, unknown>)[step];
  }
  return here;
}

/** A JSON number, or text that is a decimal number; finite. NaN, Infinity, hexadecimal and `true` are no readings. */
export function numberIn(found: string | number | boolean): number | null {
  if (typeof found === 'boolean') return null;
  if (typeof found === 'string' && !DECIMAL.test(found)) return null;
  const number = Number(found);
  return Number.isFinite(number) ? number : null;
}
