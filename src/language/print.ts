// The one printer: a message, in the language of a catalogue, with the names of a station and in the reader's units.

import type { InLanguages } from '../station/plant.ts';
import type { Id } from './message.ts';
import { isInLanguages, isMessage, type Message, type Value } from './message.ts';
import type { Names } from './names.ts';
import { type Measure, type Piece, type Place, piecesOf } from './places.ts';

export type Catalogue = Readonly<Record<Id, string>>;

/** How a quantity is written; `digits` is what the place asks for, empty: as many as the value has. */
export type Units = Readonly<Record<Measure, (value: number, digits: string) => string>>;

export type Language = keyof InLanguages;

export interface Reader {
  readonly language: Language;
  /** Enumerations as programs know them (`mix/assess`), and not by their sentences. */
  readonly isCoded?: boolean;
  readonly catalogue: Catalogue;
  readonly names: Names;
  readonly units: Units;
}

/** @returns the sentence; an id that the catalogue does not have (a story of another release) is told as it is */
export function print(message: Message, reader: Reader): string {
  const sentence = reader.catalogue[message.id];
  if (sentence === undefined) return message.id;
  return cut(sentence)
    .map((piece) => (typeof piece === 'string' ? piece : filled(piece, message.values[piece.name], reader)))
    .join('');
}

function filled(place: Place, value: Value | undefined, reader: Reader): string {
  if (value === undefined) return `{${place.name}}`;
  if (Array.isArray(value))
    return (value as readonly (string | Message)[])
      .map((one) => part(place, one, reader))
      .join(place.between ?? '');
  return part(place, value as Exclude<Value, readonly unknown[]>, reader);
}

function part(place: Place, value: Exclude<Value, readonly unknown[]>, reader: Reader): string {
  if (isInLanguages(value)) return value[reader.language];
  if (isMessage(value)) return print(value, reader);
  if (typeof value === 'number')
    return place.measure === undefined ? String(value) : reader.units[place.measure](value, place.digits);
  if (place.thing !== undefined) return reader.names(place.thing, value);
  return place.kind === 'word' ? wordOf(place, value, reader) : value;
}

/** An enumeration's value has a sentence of its own; what a person wrote stays as it is. */
const wordOf = ({ name }: Place, value: string, { catalogue, isCoded = false }: Reader): string =>
  (isCoded ? undefined : (catalogue as Readonly<Record<string, string>>)[wordId(name, value)]) ?? value;

/** `stage-mix-assess`: the sentence of a value of an enumeration. */
export const wordId = (place: string, value: string): string =>
  `${place.replace(/[A-Z]/gu, (capital) => `-${capital.toLowerCase()}`)}-${value.toLowerCase().replace(/[^a-z0-9]+/gu, '-')}`;

const known = new Map<string, readonly Piece[]>();

/** Sentences are few, and printed again and again. */
function cut(sentence: string): readonly Piece[] {
  const before = known.get(sentence);
  if (before !== undefined) return before;
  const pieces = piecesOf(sentence);
  known.set(sentence, pieces);
  return pieces;
}
