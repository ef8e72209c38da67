// One value out of one payload. Whatever a stranger sends, nothing here throws: it is a value, or a reason why not.
//
// JSON Pointer as in RFC 6901. Only own properties are followed, so `/__proto__/x` and `/constructor/name` find nothing.
import type { BadReading } from '../control/guard/types.ts';
import { follow, stepsOf } from '../station/pointer.ts';
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

/** The steps to a value in a document; null: the plain payload. */
export const stepsTo = (pointer: string | null): readonly string[] | null =>
  pointer === null ? null : stepsOf(pointer);

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
