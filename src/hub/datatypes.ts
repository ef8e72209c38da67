// Payloads as Homie 5 writes them, for the datatypes of the table: what we say, and what we accept. A payload that is not
// exactly of its type is refused with the reason; nothing is guessed, trimmed or read leniently.
//
// The rounding to a step is the formula of the released text (pull request 313 of the convention), seen second-hand in two
// independent public implementations: floor((value - base) / step + 0.5) x step + base, where base is the minimum, else
// the maximum, else the current value; bounds are checked afterwards, so rounding may leave the range and is then refused.
import type { Datatype, Value } from './row.ts';

export type Read = { readonly value: string } | { readonly refused: string };

interface Typed {
  readonly datatype: Datatype;
  readonly format: string | null;
}

/** Longer than this no command of ours is. */
const LONGEST_BYTES = 1000;
const UTF8 = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });
/** An empty text is this byte: an empty payload would delete the topic. */
const EMPTY_TEXT = '\u0000';

const INTEGER = /^-?\d+$/u;
const FLOAT = /^-?(?:\d+\.?\d*|\.\d+)(?:[eE]-?\d+)?$/u;
const DURATION = /^PT(?=\d)(?:\d+H)?(?:\d+M)?(?:\d+(?:\.\d+)?S)?$/u;
const INT64 = { least: -(2n ** 63n), most: 2n ** 63n - 1n };

/** A value as it goes on its topic; '' where there is none, which removes what stood there. */
export function payloadOf(value: Value): string {
  if (value === null) return '';
  if (value === '') return EMPTY_TEXT;
  // Homie has no plus sign in an exponent; JavaScript writes 1e+21.
  return String(value).replace(/^(-?[\d.]+)e\+/u, '$1e');
}

/** A command's payload. @param current the value that stands now, from which steps count where the format has no bounds. */
export function readPayload(typed: Typed, payload: Uint8Array, current: number | null = null): Read {
  const text = textIn(payload);
  if (text === null) return { refused: 'is no UTF-8 text, or too long' };
  if (text === '') return { refused: 'is empty: an empty message deletes a topic and asks nothing' };
  if (text.startsWith('\uFEFF')) return { refused: 'begins with a byte order mark: leave it out' };
  if (typed.datatype === 'string') return { value: text === EMPTY_TEXT ? '' : text };
  if (text.includes(EMPTY_TEXT)) return { refused: 'holds a zero byte, which only an empty text may be' };
  switch (typed.datatype) {
    case 'boolean':
      return text === 'true' || text === 'false' ? { value: text } : { refused: 'must be true or false' };
    case 'enum':
      return valuesOf(typed).includes(text)
        ? { value: text }
        : { refused: `must be one of ${valuesOf(typed).join(', ')}` };
    case 'duration':
      return DURATION.test(text) ? { value: text } : { refused: 'must be a duration like PT1H30M' };
    case 'integer':
      return integer(text)
        ? inFormat(typed, text, current)
        : { refused: 'must be a whole number of 64 bits' };
    case 'float':
      return FLOAT.test(text) && Number.isFinite(Number(text))
        ? inFormat(typed, text, current)
        : { refused: 'must be a decimal number with a point' };
  }
}

function textIn(payload: Uint8Array): string | null {
  if (payload.byteLength > LONGEST_BYTES) return null;
  try {
    return UTF8.decode(payload);
  } catch {
    return null;
  }
}

function integer(text: string): boolean {
  if (!INTEGER.test(text)) return false;
  const value = BigInt(text);
  return value >= INT64.least && value <= INT64.most;
}

/** The values of an enum; blanks count. */
export function valuesOf({ datatype, format }: Typed): readonly string[] {
  return datatype === 'enum' && format !== null ? format.split(',') : [];
}

export interface Bounds {
  readonly least: number | null;
  readonly most: number | null;
  readonly step: number | null;
}

/** `[least]:[most][:step]`. @throws Error for a format that is none: it is our own, and a fault of the table. */
export function boundsOf({ datatype, format }: Typed): Bounds {
  if (format === null || (datatype !== 'integer' && datatype !== 'float')) {
    return { least: null, most: null, step: null };
  }
  const parts = format.split(':');
  const [least = null, most = null, step = null] = parts.map((part) => (part === '' ? null : Number(part)));
  const numbers = [least, most, step].every((part) => part === null || Number.isFinite(part));
  const rises = least === null || most === null || least <= most;
  if (parts.length < 2 || parts.length > 3 || !numbers || !rises || (step !== null && step <= 0)) {
    throw new Error(`'${format}' is no format of a number: write [least]:[most][:step]`);
  }
  return { least, most, step };
}

function inFormat(typed: Typed, text: string, current: number | null): Read {
  const { least, most, step } = boundsOf(typed);
  if (least === null && most === null && step === null) return { value: text };
  const given = Number(text);
  const value = step === null ? given : stepped(given, step, least ?? most ?? current ?? given);
  if ((least !== null && value < least) || (most !== null && value > most)) {
    return {
      refused: `is ${text}: it must be ${least === null ? '' : `at least ${least}`}${least !== null && most !== null ? ' and ' : ''}${most === null ? '' : `at most ${most}`}`,
    };
  }
  return { value: payloadOf(value) };
}

/** To the nearest step from the base, halves upwards; in decimal, as people write steps. */
export function stepped(value: number, step: number, base: number): number {
  // (40.05 - 0.1) / 0.1 is 399.49999999999994, and 0.1 + 399 x 0.1 is 40.000000000000004.
  const count = Math.floor(decimal((value - base) / step + 0.5));
  return decimal(count * step + base);
}

/** Twelve digits are more than any step of ours has. */
const decimal = (value: number): number => Number(value.toPrecision(12));
