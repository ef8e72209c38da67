// Command payloads: what a template may leave open, how it is filled in, and how it is recognised when somebody else writes one.
import type { Payload } from './plant.ts';

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

/** Every name that a template may hold after a `$`, and what stands there then. */
const FILLINGS = {
  leaseMs: ({ leaseMs }) => leaseMs,
  leaseS: ({ leaseMs }) => leaseMs / 1000,
  // Never longer than the lease is.
  leaseWholeS: ({ leaseMs }) => Math.floor(leaseMs / 1000),
  leaseTenths: ({ leaseMs }) => Math.floor(leaseMs / 100),
  sequence: ({ sequence }) => sequence,
  boot: ({ boot }) => boot,
  issuedMs: ({ issuedMs }) => issuedMs,
} as const satisfies Readonly<Record<string, (values: Placeholders) => string | number>>;
export type PlaceholderName = keyof typeof FILLINGS;
export const PLACEHOLDERS = Object.keys(FILLINGS) as readonly PlaceholderName[];
/** How long the unit of each placeholder for the lease is. */
export const LEASE_UNITS_MS = { leaseMs: 1, leaseS: 1000, leaseWholeS: 1000, leaseTenths: 100 } as const;

const NAMES = PLACEHOLDERS.join('|');
export const PLACEHOLDER = new RegExp(`\\$(${NAMES})\\b`, 'gu');
const HOLDS_ONE = new RegExp(`\\$(?:${NAMES})\\b`, 'u');
export const WHOLE_PLACEHOLDER = new RegExp(`^\\$(${NAMES})$`, 'u');

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
    const whole = WHOLE_PLACEHOLDER.exec(value)?.[1];
    return whole === undefined ? fillText(value, values) : filling(whole, values);
  }
  if (Array.isArray(value)) return value.map((item) => fill(item, values));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, fill(item, values)]));
}

function fillText(text: string, values: Placeholders): string {
  return text.replaceAll(PLACEHOLDER, (_, name: string) => String(filling(name, values)));
}

const filling = (name: string, values: Placeholders): string | number =>
  FILLINGS[name as PlaceholderName](values);

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

/** As a part of a regular expression, also one with the flag u: there a hyphen must not be escaped. */
export const literally = (text: string): string => text.replaceAll(/[\\^$.*+?()[\]{}|/]/gu, '\\$&');

/** A number above 0: many devices take a lease of 0 for `off`. */
const LEASE = '(?=[0-9.]*[1-9])[0-9.]{1,64}';

function textPattern(template: string): RegExp {
  const fixed = template
    .trim()
    .split(PLACEHOLDER)
    // split() with a group keeps the names at odd places.
    .map((part, place) => (place % 2 === 0 ? literally(part) : part in LEASE_UNITS_MS ? LEASE : '.{1,64}'));
  return new RegExp(`^${fixed.join('')}$`, 'u');
}

function says(found: unknown, template: unknown): boolean {
  if (typeof template === 'string' && HOLDS_ONE.test(template)) return typeof found === 'string';
  if (typeof template !== 'object' || template === null) return found === template;
  if (typeof found !== 'object' || found === null) return false;
  return Object.entries(template).every(([key, item]) => {
    if (typeof item === 'string' && WHOLE_PLACEHOLDER.test(item)) return true;
    return Object.hasOwn(found, key) && says((found as Record<string, unknown>)[key], item);
  });
}

const SAMPLES: readonly Placeholders[] = [
  { leaseMs: 30_000, sequence: 7, boot: 'a1b2c3d4', issuedMs: 123_456 },
  { leaseMs: 1_000, sequence: 1, boot: '0', issuedMs: 0 },
];

/** Whether some payload written from one template also says what the other says. */
export const overlaps = (one: Payload, other: Payload): boolean =>
  isReadAs(one, other) || isReadAs(other, one);

function isReadAs(written: Payload, template: Payload): boolean {
  const matches = matcherOf(template);
  return SAMPLES.some((values) => {
    const text = renderPayload(written, values);
    return matches(text, () => jsonIn(text));
  });
}

function jsonIn(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
