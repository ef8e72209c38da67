// What is said, without the saying: an id of the catalogues and the values that go into its places. Plain JSON, so that a state,
// a record or a wire can carry it, and a reader of any language prints it.
import type { InLanguages, OwnText } from '../station/plant.ts';
import type { Places } from './places.generated.ts';

/** A sentence of the catalogues. */
export type Id = keyof Places;

export type Value = OwnText | number | Message | readonly (string | Message)[];

export interface Message {
  readonly id: Id;
  /** By place: ids of things of the plant, quantities in the house units, enumerations, what a person wrote (an owner, for each language), messages. */
  readonly values: Readonly<Record<string, Value>>;
}

/** @param values one for each place that the English sentence has; none where it has no place */
export const message = <I extends Id>(
  id: I,
  ...values: Record<string, never> extends Places[I] ? [] : [Places[I]]
): Message => ({ id, values: values[0] ?? NONE });

const NONE: Readonly<Record<string, Value>> = Object.freeze({});

export const isMessage = (value: unknown): value is Message =>
  typeof value === 'object' && value !== null && 'id' in value && 'values' in value;

/** What an owner wrote for each language. */
export const isInLanguages = (value: unknown): value is InLanguages =>
  typeof value === 'object' && value !== null && 'en' in value && 'de' in value;

/** Do they say the same? */
export const sameMessage = (one: Message, other: Message): boolean =>
  one === other || (one.id === other.id && JSON.stringify(one.values) === JSON.stringify(other.values));
