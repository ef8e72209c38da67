// A topic as the documents and the access list see it: who says what there, and how.

export interface JsonSchema {
  readonly [keyword: string]: unknown;
}

export interface Message {
  readonly name: string;
  readonly contentType: 'application/json' | 'text/plain';
  readonly payload: JsonSchema;
}

/** Whose account at the broker. */
export type Side =
  /** The service that controls. */
  | 'service'
  /** The Homie side of it, which may ask and not command. */
  | 'homie';

export interface Channel {
  /** One of its kind; letters, digits, hyphens and dots. */
  readonly id: string;
  /** Levels in braces stand for one level each. */
  readonly address: string;
  readonly words: string;
  readonly side: Side;
  /** What this side does there. */
  readonly does: readonly ('send' | 'receive')[];
  readonly qos: 0 | 1 | 2;
  readonly retain: boolean;
  /** For what is good for a time only. */
  readonly expiresS?: number;
  readonly messages: readonly Message[];
  /** Only in lock step with a simulated water: a real station's broker lets nobody near it. */
  readonly onlyInLockStep?: true;
  /** Which device of the station file speaks or listens at the other end. */
  readonly device?: { readonly accounts: readonly string[]; readonly does: 'speaks' | 'listens' };
}

/** The topic filter for all of a channel's topics. */
export const filterOf = ({ address }: Pick<Channel, 'address'>): string =>
  address.replaceAll(/\{\w+\}/gu, '+');

export const json = (name: string, payload: JsonSchema): Message => ({
  name,
  contentType: 'application/json',
  payload,
});

export const text = (name: string, payload: JsonSchema): Message => ({
  name,
  contentType: 'text/plain',
  payload: { type: 'string', ...payload },
});

/** A zero-length payload takes away what is stored. */
export const REMOVED: Message = text('removed', {
  maxLength: 0,
  description: 'Nothing stands there any more.',
});

export const shared = (definition: string): JsonSchema => ({ $ref: `#/components/schemas/${definition}` });
