// Command payloads: written from the station file's templates, and recognised when somebody else writes one.
import type { Payload } from '../station/plant.ts';

/** What a command may carry where the device's payload has room for it (R3). */
export interface Placeholders {
  /** For how long an `on` is good; 0 with `off`. */
  readonly leaseMs: number;
  /** Rises with every command of this boot. */
  readonly sequence: number;
  readonly boot: string;
  /** Milliseconds since this boot: no wall clock on the wire that anybody could reckon with (R22). */
  readonly issuedMs: number;
}

const PLACEHOLDER = /\$(leaseMs|leaseS|sequence|boot|issuedMs)\b/gu;
const HOLDS_ONE = /\$(?:leaseMs|leaseS|sequence|boot|issuedMs)\b/u;
const WHOLE = /^\$(leaseMs|leaseS|sequence|boot|issuedMs)$/u;

/** Text as it goes on the wire. A JSON text that is a placeholder and nothing else becomes a number (boot: text). */
export function renderPayload(template: Payload, values: Placeholders): string {
  if (typeof template === 'string') return fillText(template, values);
  return JSON.stringify(fill(template, values));
}

/** Whether no two renderings are the same text, so that an equal text can only be a copy. */
export function isUnique(template: Payload): boolean {
  return /\$sequence\b/u.test(typeof template === 'string' ? template : JSON.stringify(template));
}

function fill(value: unknown, values: Placeholders): unknown {
  if (typeof value === 'string') {
    const whole = WHOLE.exec(value)?.[1];
    return whole === undefined ? fillText(value, values) : filling(whole, values);
  }
  if (Array.isArray(value)) return value.map((item) => fill(item, values));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, fill(item, values)]));
}

function fillText(text: string, values: Placeholders): string {
  return text.replaceAll(PLACEHOLDER, (_, name: string) => String(filling(name, values)));
}

function filling(name: string, values: Placeholders): string | number {
  return name === 'leaseS' ? values.leaseMs / 1000 : values[name as keyof Placeholders];
}

export type Matcher = (text: string, json: () => unknown) => boolean;

/**
 * Whether a payload says the same as the template, whatever stands where the placeholders are. In JSON only what the
 * template states counts: a hub that leaves our lease out, or adds a field of its own, still says `on`.
 */
export function matcherOf(template: Payload): Matcher {
  if (typeof template !== 'object') {
    const pattern = textPattern(String(template));
    return (text) => pattern.test(text.trim());
  }
  return (_, json) => says(json(), template);
}

function textPattern(template: string): RegExp {
  const fixed = template
    .trim()
    .split(PLACEHOLDER)
    // split() with a group keeps the names at odd places.
    .map((part, place) => (place % 2 === 1 ? '.{1,64}' : part.replaceAll(/[\\^$.*+?()[\]{}|/-]/gu, '\\$&')));
  return new RegExp(`^${fixed.join('')}$`, 'u');
}

function says(found: unknown, template: unknown): boolean {
  if (typeof template === 'string' && HOLDS_ONE.test(template)) return typeof found === 'string';
  if (typeof template !== 'object' || template === null) return found === template;
  if (typeof found !== 'object' || found === null) return false;
  return Object.entries(template).every(([key, item]) => {
    if (typeof item === 'string' && WHOLE.test(item)) return true;
    return Object.hasOwn(found, key) && says((found as Record<string, unknown>)[key], item);
  });
}
